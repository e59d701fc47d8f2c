using System.Globalization;
using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using AutoPlace.Tests.Cli;
using AutoPlace.Tests.Demo;
using AutoPlace.Tests.Heads;
using AutoPlace.Tests.Import;
using Xunit;

namespace AutoPlace.Tests;

/// <summary>Demonstration heads beside each other in one file.</summary>
public sealed class OtherHeadsTests : IDisposable
{
    private readonly PlacementPipeline _pipeline = PlacementPipeline.Open();

    /// <summary>One of the two is placed, the other is named; which of them it is doesn't matter here.</summary>
    [Theory]
    [InlineData("maren", "tibb", 3.5)]
    [InlineData("maren", "osric", -6)]
    [InlineData("lysk", "senna", 8)]
    public void Head_beside_the_one_that_was_placed_is_named(string name, string other, double beside)
    {
        HeadScan both = Beside(name, other, beside);

        PlacementResult placed = Place(both, []);

        string second = Assert.Single(placed.Confidence!.OtherHeads);
        Assert.Contains(second, placed.NeedsPerson.Reasons.Single(reason => reason.StartsWith("the file holds another head", StringComparison.Ordinal)), StringComparison.Ordinal);
        string first = placed.Confidence.PlacedHead!;
        Assert.Contains(both.Parts, part => part.Name == first);
        Assert.NotEqual(second.Split(' ')[0], first.Split(' ')[0]);
        string[] parts = [.. both.Parts.Select(part => part.Name).Where(part => part.Split(' ')[0] == second.Split(' ')[0])];
        PlacementResult meant = Place(both, parts);
        Assert.True(Vector3d.Distance(placed.Frame.Origin, meant.Frame.Origin) > 2 * placed.Frame.InterocularDistance);
        Assert.Empty(meant.Confidence!.OtherHeads);
        Assert.Null(meant.Confidence.PlacedHead);
    }

    [Fact]
    public void Head_that_has_no_part_of_its_own_is_said_by_its_place()
    {
        HeadScan both = Beside("maren", "tibb", 3.5);
        var one = new HeadScan
        {
            Source = both.Source,
            Sha256 = both.Sha256,
            Format = both.Format,
            MetresPerUnit = both.MetresPerUnit,
            Mesh = both.Mesh,
            Parts = [new MeshPart("all", null)],
            FaceParts = [.. both.FaceParts.Select(_ => 0)],
        };
        TruthFile truth = TruthOf("maren");
        Vector3d[] places = [truth.Origin, truth.Origin + (truth.Left * (3.5 * truth.InterocularDistance))];

        PlacementResult placed = Place(one, []);

        Vector3d expected = places.MaxBy(place => Vector3d.Distance(place, placed.Frame.Origin));
        Assert.InRange(Vector3d.Distance(At(Assert.Single(placed.Confidence!.OtherHeads)), expected) / truth.InterocularDistance, 0, 0.1);
        Assert.InRange(Vector3d.Distance(At(placed.Confidence.PlacedHead!), placed.Frame.Origin) / truth.InterocularDistance, 0, 0.1);

        static Vector3d At(string said)
        {
            double[] at = [.. said["at (".Length..^1].Split(", ").Select(x => double.Parse(x, CultureInfo.InvariantCulture))];
            return new(at[0], at[1], at[2]);
        }
    }

    [Fact]
    public void Command_says_that_another_head_was_not_placed()
    {
        string folder = Directory.CreateTempSubdirectory("autoplace-").FullName;
        try
        {
            string file = Path.Combine(folder, "two.obj");
            File.WriteAllBytes(file, MeshText.Obj(Beside("maren", "tibb", 3.5).Mesh));

            var run = AutoplaceProcess.Run("place", file, "-o", Path.Combine(folder, "out"));

            Assert.Contains("one of several heads was placed, not placed: at (", run.Error, StringComparison.Ordinal);
            Assert.Contains("the file holds another head, too: at (", run.Output, StringComparison.Ordinal);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    /// <summary>With hat and beard; nothing is looked at again, so that it costs nothing. Of a whole figure the hands are.</summary>
    [Theory]
    [MemberData(nameof(DemoFolder.Names), MemberType = typeof(DemoFolder))]
    public void Head_alone_has_nothing_beside_it_to_look_at(string name)
    {
        HeadScan scan = MeshReader.Read(DemoFolder.Truths[name].MeshPath);

        PlacementResult placed = Place(scan, []);

        Assert.Equal(name == "senna" ? 2 : 0, OtherHeads.Beside(ScanSurface.Of(scan, []), placed.Frame).Count);
        Assert.Empty(placed.Confidence!.OtherHeads);
    }

    /// <summary>As large as a head, beside it, and looked at.</summary>
    [Theory]
    [InlineData("sphere")]
    [InlineData("cube")]
    [InlineData("cylinder")]
    [InlineData("cone")]
    public void Thing_beside_a_head_is_no_head(string body)
    {
        TruthFile truth = TruthOf("maren");
        PolygonMesh thing = Primitives.Of(body);
        Vector3[] positions = [.. thing.Positions.ToArray().Select(p => (Vector3)(
            truth.Origin + (((truth.Left * 4) + (Vector3d)(p * new Vector3(1.2f, 1.7f, 1.4f))) * truth.InterocularDistance)))];
        HeadScan scan = Joined(MeshReader.Read(truth.MeshPath), new PolygonMesh(positions, thing.FaceStarts.ToArray(), thing.FaceVertices.ToArray()), ["thing"], _ => 0);

        PlacementResult placed = Place(scan, []);

        Assert.NotEmpty(OtherHeads.Beside(ScanSurface.Of(scan, []), placed.Frame));
        Assert.Empty(placed.Confidence!.OtherHeads);
    }

    /// <summary>Where a head is looked for first there is a face without its ears, jaw and the back of its head; beside it a whole head.</summary>
    [Fact]
    public void Most_complete_of_two_heads_is_placed()
    {
        TruthFile truth = TruthOf("maren");
        HeadScan whole = MeshReader.Read(truth.MeshPath);
        HeadFrame frame = FrameOf(truth);
        Vector3d Aside(double by) => truth.Left * (by * truth.InterocularDistance);
        HeadScan mask = Kept(whole, p => frame.ToHead((Vector3d)p) is { Z: > -0.55, Y: > -1.35, X: > -0.95 and < 0.95 });
        HeadScan beside = ScanVariants.Mapped(whole, p => p + Aside(4));
        Assert.InRange(Vector3d.Distance(Place(Balanced(mask), []).Frame.Origin, truth.Origin) / truth.InterocularDistance, 0, 0.1);

        PlacementResult placed = Place(Balanced(Joined(mask, beside.Mesh, [.. beside.Parts.Select(part => $"whole {part.Name}")], f => beside.FaceParts[f], "mask")), []);

        Assert.InRange(Vector3d.Distance(placed.Frame.Origin, truth.Origin + Aside(4)) / truth.InterocularDistance, 0, 0.1);
        Assert.StartsWith("mask", Assert.Single(placed.Confidence!.OtherHeads), StringComparison.Ordinal);
        Assert.StartsWith("whole", placed.Confidence.PlacedHead, StringComparison.Ordinal);

        // Balls on both sides as large as a head, so that the mask is in the middle and what is looked at first is the same.
        HeadScan Balanced(HeadScan scan)
        {
            PolygonMesh ball = Primitives.Of("sphere");
            foreach (int side in (int[])[-1, 1])
            {
                Vector3d centre = frame.ToFile(new(8 * side, -0.5, -1.2));
                Vector3[] positions = [.. ball.Positions.ToArray().Select(p => (Vector3)(centre + ((Vector3d)p * (0.8 * truth.InterocularDistance))))];
                scan = Joined(scan, new PolygonMesh(positions, ball.FaceStarts.ToArray(), ball.FaceVertices.ToArray()), ["ball"], _ => 0);
            }

            return scan;
        }
    }

    /// <inheritdoc/>
    public void Dispose() => _pipeline.Dispose();

    private static TruthFile TruthOf(string name) => DemoFolder.Truths[name];

    // A second head in the size and the axes of the first, so many interocular distances to its left; parts are named after heads.
    private static HeadScan Beside(string name, string other, double by)
    {
        (TruthFile to, TruthFile from) = (TruthOf(name), TruthOf(other));
        (HeadFrame toFrame, HeadFrame fromFrame) = (FrameOf(to), FrameOf(from));
        HeadScan first = MeshReader.Read(to.MeshPath);
        HeadScan second = ScanVariants.Mapped(MeshReader.Read(from.MeshPath), p => toFrame.ToFile(fromFrame.ToHead((Vector3d)p) + new Vector3d(by, 0, 0)));
        return Joined(first, second.Mesh, [.. second.Parts.Select(part => $"{other} {part.Name}")], f => second.FaceParts[f], name);
    }

    private static HeadScan Kept(HeadScan scan, Func<Vector3, bool> keeps)
    {
        int[] left = [.. Enumerable.Range(0, scan.Mesh.FaceCount).Where(f => scan.Mesh.Face(f).ToArray().All(v => keeps(scan.Mesh.Positions[v])))];
        return ScanVariants.With(scan, scan.Mesh.Subset(left, out _), [.. left.Select(f => scan.FaceParts[f])]);
    }

    private static HeadFrame FrameOf(TruthFile truth) =>
        new(truth.Origin, truth.Left, truth.Up, Vector3d.Cross(truth.Left, truth.Up), truth.InterocularDistance);

    private static HeadScan Joined(HeadScan scan, PolygonMesh other, string[] parts, Func<int, int> partOf, string? name = null)
    {
        int vertices = scan.Mesh.VertexCount, corners = scan.Mesh.FaceVertices.Length, own = scan.Parts.Count;
        return new HeadScan
        {
            Source = scan.Source,
            Sha256 = scan.Sha256,
            Format = scan.Format,
            MetresPerUnit = scan.MetresPerUnit,
            Mesh = new PolygonMesh(
                [.. scan.Mesh.Positions, .. other.Positions],
                [.. scan.Mesh.FaceStarts, .. other.FaceStarts[1..].ToArray().Select(start => start + corners)],
                [.. scan.Mesh.FaceVertices, .. other.FaceVertices.ToArray().Select(v => v + vertices)]),
            Parts = [.. scan.Parts.Select(part => name is null ? part : part with { Name = $"{name} {part.Name}" }), .. parts.Select(part => new MeshPart(part, null))],
            FaceParts = [.. scan.FaceParts, .. Enumerable.Range(0, other.FaceCount).Select(f => own + partOf(f))],
        };
    }

    private PlacementResult Place(HeadScan scan, IReadOnlyList<string> parts) =>
        _pipeline.Run(scan, PlacementOptions.Default with { Parts = parts }, TestContext.Current.CancellationToken);
}
