using AutoPlace.Geometry;
using AutoPlace.Template;
using AutoPlace.Tests.Heads;
using Xunit;

namespace AutoPlace.Tests.Template;

public sealed class CommonFacesTests
{
    private const double Half = 0.5;

    private static readonly PolygonMesh Skin = SkinOf(BuiltInTemplate.Load());

    /// <summary>Cut along planes and round holes that were drawn at random: whatever is paired is the same face, and hardly any is left over.</summary>
    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    [InlineData(4)]
    [InlineData(5)]
    [InlineData(6)]
    public void Cut_skin_is_paired_with_itself(int seed)
    {
        var random = new Random(seed);
        Vector3d normal = Draw(random).Normalized(), hole = (Vector3d)Skin.Positions[random.Next(Skin.VertexCount)];
        double[] along = [.. Enumerable.Range(0, Skin.FaceCount).Select(f => Vector3d.Dot(Corner(f), normal))];
        double plane = along.Order().ElementAt((int)(0.3 * random.NextDouble() * along.Length));
        int[] left = [.. Enumerable.Range(0, Skin.FaceCount).Where(f => along[f] > plane && (Corner(f) - hole).Length > 0.3)];
        (PolygonMesh cut, _, int[] faces) = Shapes.Shuffled(Skin.Subset(left, out _), seed);

        SharedTopology common = Assert.IsType<SharedTopology>(CommonFaces.Find(Skin, cut, Half));

        int[] numberOf = [.. Enumerable.Repeat(-1, Skin.FaceCount)];
        for (int f = 0; f < left.Length; f++)
        {
            numberOf[left[f]] = faces[f];
        }

        Assert.All(common.Faces, pair => Assert.Equal(numberOf[pair.Own], pair.Other));
        Assert.All(common.Vertices, pair => Assert.Equal(Skin.Positions[pair.Own], cut.Positions[pair.Other]));
        Assert.Equal(common.Vertices.Count, common.Vertices.Select(pair => pair.Other).Distinct().Count());
        Assert.InRange(common.Faces.Count, 0.97 * left.Length, left.Length);
    }

    /// <summary>Faces in the other sense are no pairs, even on a symmetric mesh whose mirror image has the same connectivity: left is never taken for right.</summary>
    [Fact]
    public void Mirrored_skin_is_paired_with_the_other_side()
    {
        var turned = new List<int>();
        for (int f = 0; f < Skin.FaceCount; f++)
        {
            turned.AddRange(Skin.Face(f).ToArray().Reverse());
        }

        var mirrored = new PolygonMesh([.. Skin.Positions.ToArray().Select(p => p with { X = -p.X })], Skin.FaceStarts.ToArray(), [.. turned]);

        SharedTopology common = Assert.IsType<SharedTopology>(CommonFaces.Find(Skin, mirrored, Half));

        Assert.All(common.Vertices, pair => Assert.True(System.Numerics.Vector3.Distance(Skin.Positions[pair.Own], mirrored.Positions[pair.Other]) < 1e-3f));
    }

    [Fact]
    public void Grids_have_nothing_in_common_that_counts()
    {
        Assert.Null(CommonFaces.Find(Shapes.Grid(30, 40), Shapes.Grid(30, 41), Half));
        Assert.Null(CommonFaces.Find(Shapes.CubeSphere(20), Shapes.CubeSphere(20), Half));
        Assert.Null(CommonFaces.Find(Skin, Shapes.CubeSphere(30), Half));
        Assert.Null(CommonFaces.Find(Shapes.CubeSphere(30), Skin, Half));
    }

    private static Vector3d Corner(int face) => Skin.Positions[Skin.Face(face)[0]];

    private static Vector3d Draw(Random random) => new(random.NextDouble() - 0.5, random.NextDouble() - 0.5, random.NextDouble() - 0.5);

    private static PolygonMesh SkinOf(TemplateHead template) =>
        template.Mesh.Subset([.. Enumerable.Range(0, template.Mesh.FaceCount).Where(f => template.FaceParts[f] == "skin")], out _);
}
