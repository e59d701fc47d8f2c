using System.Globalization;
using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Landmarks;

/// <summary>
/// Notices that a file holds more heads than the one that was found: connected pieces of a head's size that stand beside it are
/// looked at as it was, and what looks like a head from the front is read. Where there is no such piece nothing is looked at.
/// </summary>
internal static class OtherHeads
{
    /// <summary>What stands over or under the head, as hair, a hat or a body, meets this column; interocular distances from the eyes' midpoint, to the sides, back and front.</summary>
    private const float Sideways = 1.3f, Back = -2.4f, Front = 0.6f;

    /// <summary>Least breadth, height and depth of a piece with a face, interocular distances of the head that was found: a child's beside an adult's.</summary>
    private const float LeastBreadth = 1, LeastHeight = 1.4f, LeastDepth = 0.6f;

    /// <summary>How many times larger or smaller the other head's interocular distance may be.</summary>
    private const double MostScale = 2;

    /// <summary>So many pieces are looked at, those of most triangles, and each as a head of so many sizes.</summary>
    private const int MostPieces = 4, Sizes = 2;

    /// <summary>What shows a head at such a distance from one that is known, in the larger interocular distance, is that one.</summary>
    private const double Apart = 1.5;

    /// <summary>What has its middle so near to a head's eyes is a part of it: its skin, hair or hat; interocular distances.</summary>
    private const double Around = 2.5;

    /// <summary>About where a nose is, interocular distances from the eyes' midpoint: skin of the head, not its hair or hat.</summary>
    private static readonly Vector3d Nose = new(0, -0.7, 0.6);

    /// <summary>Finds and names the other heads of a scan.</summary>
    /// <param name="scan">The scan.</param>
    /// <param name="surface">All of it, as views show it.</param>
    /// <param name="detector">Looks at it.</param>
    /// <param name="found">Where the head is that was found.</param>
    /// <param name="face">The mean face, which settles frames.</param>
    /// <param name="cancellation">Stops between views.</param>
    /// <returns>The found head's own name among them, null when it is alone, and the others.</returns>
    public static (string? Found, IReadOnlyList<OtherHead> Others) Of(
        HeadScan scan, ScanSurface surface, LandmarkDetector detector, HeadFrame found, MeanFace face, CancellationToken cancellation)
    {
        var heads = new List<HeadFrame> { found };
        var others = new List<OtherHead>();
        var parts = new HashSet<string>(StringComparer.Ordinal);
        Extent[] extents = Extents(surface, found);
        foreach (int piece in Beside(extents))
        {
            Vector3d middle = found.ToFile((Vector3d)(extents[piece].Low + extents[piece].High) / 2);
            if (heads.Exists(head => head.ToHead(middle).Length < Around)
                || Look(detector, found, PositionsOf(surface, piece), cancellation) is not { Agreement: >= HeadFinder.Plausible } seen)
            {
                continue;
            }

            HeadReading read = HeadReader.Read(surface, detector, seen, face, cancellation);
            if (read.Likeness >= HeadReading.LeastLikeness && heads.TrueForAll(head => IsApart(head, read.Frame)))
            {
                heads.Add(read.Frame);
                others.Add(new OtherHead(PartOf(scan, surface, extents, piece) ?? PlaceOf(read.Frame), seen, read));
                parts.Add(PartOf(scan, surface, piece));
            }
        }

        return others.Count == 0 ? (null, others) : (PartOf(scan, surface, PieceAtNose(surface, found)) is var own && !parts.Contains(own) ? own : PlaceOf(found), others);
    }

    /// <summary>The pieces that are looked at.</summary>
    /// <param name="surface">All of a scan.</param>
    /// <param name="found">Where its head is.</param>
    internal static IReadOnlyList<int> Beside(ScanSurface surface, HeadFrame found) => Beside(Extents(surface, found));

    private static int[] Beside(Extent[] extents) =>
        [.. Enumerable.Range(0, extents.Length).Where(piece => extents[piece].MayHaveFace && !extents[piece].MeetsColumn)
            .OrderByDescending(piece => extents[piece].Triangles).Take(MostPieces)];

    // From where the head was seen, at what would be a head at the top of a piece; the sizes nearest to the head's.
    private static FrameScore? Look(LandmarkDetector detector, HeadFrame found, Vector3[] piece, CancellationToken cancellation)
    {
        HeadFrame[] candidates = [.. HeadCrops.Candidates(piece, new Facing(found.Left, found.Up, found.Front))
            .Where(frame => OffScale(frame) <= Math.Log(MostScale)).OrderBy(OffScale).Take(Sizes)];
        return candidates.Length == 0 ? null : detector.Score(candidates, cancellation).MaxBy(score => score.Agreement);

        double OffScale(HeadFrame frame) => Math.Abs(Math.Log(frame.InterocularDistance / found.InterocularDistance));
    }

    // The part of a piece, unless what stands over or under the found head has a part of that name.
    private static string? PartOf(HeadScan scan, ScanSurface surface, Extent[] extents, int piece)
    {
        ReadOnlySpan<int> parts = surface.TriangleMaterials;
        var ofFound = new HashSet<string>(StringComparer.Ordinal);
        for (int t = 0; t < parts.Length; t++)
        {
            if (extents[surface.TriangleComponents[t]].MeetsColumn)
            {
                ofFound.Add(scan.Parts[parts[t]].Name);
            }
        }

        string own = PartOf(scan, surface, piece);
        return scan.Parts.Count > 1 && !ofFound.Contains(own) ? own : null;
    }

    private static string PartOf(HeadScan scan, ScanSurface surface, int piece) =>
        scan.Parts[surface.TriangleMaterials.IsEmpty ? 0 : surface.TriangleMaterials[surface.TriangleComponents.IndexOf(piece)]].Name;

    private static int PieceAtNose(ScanSurface surface, HeadFrame frame)
    {
        (int nearest, float least) = (0, float.PositiveInfinity);
        var nose = (Vector3)frame.ToFile(Nose);
        for (int t = 0; t < surface.Mesh.TriangleCount; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = surface.Mesh.Corners(t);
            float distance = Vector3.DistanceSquared((a + b + c) / 3, nose);
            (nearest, least) = distance < least ? (t, distance) : (nearest, least);
        }

        return surface.TriangleComponents[nearest];
    }

    private static string PlaceOf(HeadFrame frame) =>
        string.Create(CultureInfo.InvariantCulture, $"at ({frame.Origin.X:G4}, {frame.Origin.Y:G4}, {frame.Origin.Z:G4})");

    private static bool IsApart(HeadFrame a, HeadFrame b) =>
        Vector3d.Distance(a.Origin, b.Origin) > Apart * Math.Max(a.InterocularDistance, b.InterocularDistance);

    private static Vector3[] PositionsOf(ScanSurface surface, int piece)
    {
        var vertices = new HashSet<int>();
        for (int i = 0; i < surface.Mesh.Indices.Length; i++)
        {
            if (surface.TriangleComponents[i / 3] == piece)
            {
                vertices.Add(surface.Mesh.Indices[i]);
            }
        }

        return [.. vertices.Select(v => surface.Mesh.Positions[v])];
    }

    private static Extent[] Extents(ScanSurface surface, HeadFrame frame)
    {
        int[] triangles = new int[surface.ComponentCount];
        foreach (int component in surface.TriangleComponents)
        {
            triangles[component]++;
        }

        return [.. surface.ComponentBoxes(frame.ToHead(surface.Mesh.Positions)).Zip(triangles, (box, count) => new Extent(box.Low, box.High, count))];
    }

    /// <summary>A head beside the one that was found.</summary>
    /// <param name="Name">The name of its part, or, where the head that was found belongs to that, too, its place in the file.</param>
    /// <param name="Found">The look that found it.</param>
    /// <param name="Read">What was read there.</param>
    internal sealed record OtherHead(string Name, FrameScore Found, HeadReading Read);

    // A piece's box, in the head frame of the head that was found, interocular distances.
    private readonly record struct Extent(Vector3 Low, Vector3 High, int Triangles)
    {
        public bool MayHaveFace => High.X - Low.X >= LeastBreadth && High.Y - Low.Y >= LeastHeight && High.Z - Low.Z >= LeastDepth;

        public bool MeetsColumn => Low.X < Sideways && High.X > -Sideways && Low.Z < Front && High.Z > Back;
    }
}
