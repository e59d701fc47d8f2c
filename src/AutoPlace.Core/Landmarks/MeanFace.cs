using System.Numerics;
using System.Runtime.InteropServices;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>
/// Points of the mean face, laid on a scan by closeness. Where they come to rest follows from the scan alone, however the
/// head lies in its file and whatever looking at it missed by a few degrees: what is drawn from there is always the same.
/// </summary>
public sealed class MeanFace
{
    /// <summary>Distance at which a point's trust has dropped to half, units of the mean face: hair and beards lie farther off.</summary>
    private const double HalfTrust = 0.12;

    /// <summary>A face that settles farther away has slid off: 4 degrees, interocular distances, share of the unit.</summary>
    private static readonly SettlingLimits Near = new(LeastAlignment: 0.9976, FarthestPlace: 0.15, MostScaling: 0.12);

    /// <summary>What is farther outside the box round the face than this pulls hardly, interocular distances.</summary>
    private const float Margin = 0.4f;

    private readonly Vector3d[] _points;
    private readonly (Vector3 Low, Vector3 High) _box;

    /// <summary>Takes the points.</summary>
    /// <param name="points">Points of the mean face away from lids, lips and nostrils, atlas coordinates.</param>
    public MeanFace(IEnumerable<Vector3d> points)
    {
        ArgumentNullException.ThrowIfNull(points);
        _points = [.. points];
        (Vector3 low, Vector3 high) = (new(float.PositiveInfinity), new(float.NegativeInfinity));
        foreach (Vector3d p in _points)
        {
            (low, high) = (Vector3.Min(low, (Vector3)p), Vector3.Max(high, (Vector3)p));
        }

        _box = (low - new Vector3(Margin), high + new Vector3(Margin));
    }

    /// <summary>The frame in which the mean face lies closest to a scan.</summary>
    /// <param name="frame">Where the head is, to a few degrees.</param>
    /// <param name="scan">The scan, file coordinates.</param>
    /// <returns>The frame; the given one where the face finds no rest near it.</returns>
    public HeadFrame Settle(HeadFrame frame, TriangleMesh scan)
    {
        ArgumentNullException.ThrowIfNull(frame);
        ArgumentNullException.ThrowIfNull(scan);
        return ClosestSimilarity.Settle(_points, Around(frame, scan), SimilarityTransform.Identity, HalfTrust) is { } rest
            && Near.Hold(SimilarityTransform.Identity, rest.Similarity, Vector3d.Zero)
            ? FrameEstimator.Reframe(frame, rest.Similarity)
            : frame;
    }

    // The scan around the face, in the frame.
    private BoundingVolumeHierarchy Around(HeadFrame frame, TriangleMesh scan)
    {
        Vector3[] positions = frame.ToHead(scan.Positions);
        bool[] inside = Array.ConvertAll(positions, p => Vector3.Clamp(p, _box.Low, _box.High) == p);
        TriangleMesh mesh = scan.WithPositions(positions);
        var near = new List<int>();
        ReadOnlySpan<int> corners = mesh.Indices;
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            if (inside[corners[3 * t]] || inside[corners[(3 * t) + 1]] || inside[corners[(3 * t) + 2]])
            {
                near.Add(t);
            }
        }

        return new BoundingVolumeHierarchy(near.Count > 0 ? mesh.Subset(CollectionsMarshal.AsSpan(near)) : mesh);
    }
}
