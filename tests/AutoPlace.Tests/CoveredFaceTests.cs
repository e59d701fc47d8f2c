using System.Numerics;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Tests.Demo;
using Xunit;

namespace AutoPlace.Tests;

/// <summary>A puppet with cards of hair over brows, eyes and cheeks, as a part of its own.</summary>
public sealed class CoveredFaceTests : IDisposable
{
    private readonly PlacementPipeline _pipeline = PlacementPipeline.Open();

    [Fact]
    public void Part_that_hides_the_face_is_left_out()
    {
        HeadScan bare = MeshReader.Read(DemoFolder.Truths["maren"].MeshPath);
        PlacementResult expected = Place(bare, []);
        HeadScan covered = WithCards(bare, expected);

        PlacementResult result = Place(covered, []);

        Assert.Equal(["fringe hides the face and was left out"], result.NeedsPerson.Reasons);
        Assert.InRange(Worst(expected, result), 0, 1e-4);
        VertexInfluences?[] weights = InitialWeights.Compute(result);
        Assert.All(weights.AsSpan(bare.Mesh.VertexCount..).ToArray(), hair => Assert.Equal(1, hair!.Shares[0]));
    }

    /// <summary>Who names parts is taken at their word.</summary>
    [Fact]
    public void Parts_that_a_person_named_are_all_looked_at()
    {
        HeadScan bare = MeshReader.Read(DemoFolder.Truths["maren"].MeshPath);
        HeadScan covered = WithCards(bare, Place(bare, []));

        PlacementResult result = Place(covered, [.. covered.Parts.Select(part => part.Name)]);

        Assert.True(result.NeedsPerson.Probability > 0.5, $"{result.NeedsPerson.Probability}");
        Assert.DoesNotContain(result.NeedsPerson.Reasons, reason => reason.StartsWith("fringe", StringComparison.Ordinal));
    }

    /// <inheritdoc/>
    public void Dispose() => _pipeline.Dispose();

    private static double Worst(PlacementResult a, PlacementResult b) =>
        a.Placement.Joints.Zip(b.Placement.Joints, (x, y) => Vector3d.Distance(a.Frame.ToFile(x.Position), b.Frame.ToFile(y.Position))).Max() / a.Frame.InterocularDistance;

    // Overlapping strips from the crown's front down to the mouth, in front of all of it.
    private static HeadScan WithCards(HeadScan bare, PlacementResult placed)
    {
        var positions = bare.Mesh.Positions.ToArray().ToList();
        var starts = bare.Mesh.FaceStarts.ToArray().ToList();
        var corners = bare.Mesh.FaceVertices.ToArray().ToList();
        List<int> parts = [.. bare.FaceParts];
        for (int card = 0; card < 7; card++)
        {
            double x = -1.05 + (0.35 * card), front = 0.95 + (0.06 * (card % 2)) - (0.35 * x * x);
            foreach ((double side, double y, double z) in ((double, double, double)[])[(-0.2, 1.1, -0.35), (0.2, 1.1, -0.3), (0.13, -1.1, 0.02), (-0.1, -1.15, 0)])
            {
                corners.Add(positions.Count);
                positions.Add((Vector3)placed.Frame.ToFile(new Vector3d(x + side, y, front + z)));
            }

            starts.Add(corners.Count);
            parts.Add(bare.Parts.Count);
        }

        return new HeadScan
        {
            Source = bare.Source,
            Sha256 = bare.Sha256,
            Format = MeshFormat.Obj,
            MetresPerUnit = bare.MetresPerUnit,
            Mesh = new PolygonMesh([.. positions], [.. starts], [.. corners]),
            Parts = [.. bare.Parts, new MeshPart("fringe", "hair")],
            FaceParts = parts,
        };
    }

    private PlacementResult Place(HeadScan scan, IReadOnlyList<string> parts) =>
        _pipeline.Run(scan, PlacementOptions.Default with { Parts = parts }, TestContext.Current.CancellationToken);
}
