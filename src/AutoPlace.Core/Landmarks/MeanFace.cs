using System.Numerics;
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

    /// <summary>What is farther from the face than this pulls hardly, interocular distances.</summary>
    private const float Margin = 0.4f;

    /// <summary>Cells of the grid round the face along a margin, and how far the grid reaches: rounding must not cut it.</summary>
    private const int CellsOfMargin = 4;
    private const float Room = Margin * 1.1f;

    private readonly Vector3d[] _points;
    private readonly Vector3 _low;
    private readonly int _width, _height, _depth;
    private readonly bool[] _near;

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

        _low = low - new Vector3(Room);
        (int X, int Y, int Z) size = Cell(high + new Vector3(Room));
        (_width, _height, _depth) = (size.X + 1, size.Y + 1, size.Z + 1);
        _near = new bool[_width * _height * _depth];
        foreach (Vector3d p in _points)
        {
            Mark(Cell((Vector3)p));
        }
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
        bool[] near = Array.ConvertAll(positions, IsNear);
        var indices = new List<int>();
        ReadOnlySpan<int> all = scan.Indices;
        for (int i = 0; i < all.Length; i += 3)
        {
            if (near[all[i]] || near[all[i + 1]] || near[all[i + 2]])
            {
                indices.AddRange(all.Slice(i, 3));
            }
        }

        return new BoundingVolumeHierarchy(indices.Count > 0 ? new TriangleMesh(positions, [.. indices]) : scan.WithPositions(positions));
    }

    // Cells within the margin of a point's.
    private void Mark((int X, int Y, int Z) cell)
    {
        for (int z = cell.Z - CellsOfMargin; z <= cell.Z + CellsOfMargin; z++)
        {
            for (int y = cell.Y - CellsOfMargin; y <= cell.Y + CellsOfMargin; y++)
            {
                int across = (cell.Z - z) * (cell.Z - z) + ((cell.Y - y) * (cell.Y - y));
                for (int x = cell.X - CellsOfMargin; x <= cell.X + CellsOfMargin; x++)
                {
                    _near[Index((x, y, z))] |= across + ((cell.X - x) * (cell.X - x)) <= CellsOfMargin * CellsOfMargin;
                }
            }
        }
    }

    private bool IsNear(Vector3 point)
    {
        (int X, int Y, int Z) cell = Cell(point);
        return (uint)cell.X < (uint)_width && (uint)cell.Y < (uint)_height && (uint)cell.Z < (uint)_depth && _near[Index(cell)];
    }

    private (int X, int Y, int Z) Cell(Vector3 point)
    {
        Vector3 at = (point - _low) * (CellsOfMargin / Margin);
        return ((int)MathF.Floor(at.X), (int)MathF.Floor(at.Y), (int)MathF.Floor(at.Z));
    }

    private int Index((int X, int Y, int Z) cell) => (((cell.Z * _height) + cell.Y) * _width) + cell.X;
}
