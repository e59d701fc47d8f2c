using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Verification;

/// <summary>
/// Signed distance from the skin, positive outside. The sign is that of the interpolated angle-weighted vertex normal
/// at the nearest point, which is right at edges and corners too (Baerentzen and Aanaes 2005). A piece of skin whose
/// triangles wind the wrong way round is recognised by their facing its own middle; flat ones, as of hair, follow the others.
/// </summary>
internal sealed class SkinDistance
{
    /// <summary>Mean cosine, by area and distance, of the angle between normals and the directions from a piece's middle below which it is flat.</summary>
    private const double Flat = 0.2;

    private readonly BoundingVolumeHierarchy? _hierarchy;
    private readonly Vector3[] _normals;
    private readonly int[] _pieceOf = [];
    private readonly int[] _orientations = [];

    /// <summary>Prepares the skin.</summary>
    /// <param name="skin">Triangles in any frame; distances are in its unit.</param>
    internal SkinDistance(BoundingVolumeHierarchy skin)
    {
        _hierarchy = skin.Mesh.TriangleCount > 0 ? skin : null;
        _normals = VertexNormals.AngleWeighted(skin.Mesh);
        if (_hierarchy is not null)
        {
            TriangleMesh mesh = skin.Mesh;
            MeshComponents pieces = MeshComponents.Of(new PolygonMesh(
                mesh.Positions.ToArray(), [.. Enumerable.Range(0, mesh.TriangleCount + 1).Select(t => 3 * t)], mesh.Indices.ToArray()));
            _pieceOf = pieces.FaceComponents.ToArray();
            _orientations = OrientationsOf(mesh, _pieceOf, pieces.Count);
        }
    }

    /// <summary>True when there is skin to measure to.</summary>
    internal bool IsKnown => _hierarchy is not null;

    /// <summary>1 where the triangles nearest to a point are counter-clockwise seen from outside, else -1; 1 when there is no skin.</summary>
    internal int OrientationAt(Vector3d point) =>
        _hierarchy is null ? 1 : _orientations[_pieceOf[_hierarchy.ClosestPoint((Vector3)point).Point.Triangle]];

    /// <summary>Signed distance of a point; 0 when there is no skin.</summary>
    internal double Signed(Vector3d point)
    {
        if (_hierarchy is null)
        {
            return 0;
        }

        SurfaceProximity nearest = _hierarchy.ClosestPoint((Vector3)point);
        ReadOnlySpan<int> corners = _hierarchy.Mesh.Indices.Slice(3 * nearest.Point.Triangle, 3);
        Vector3d weights = nearest.Point.Barycentric;
        Vector3d normal = ((Vector3d)_normals[corners[0]] * weights.X)
            + ((Vector3d)_normals[corners[1]] * weights.Y)
            + ((Vector3d)_normals[corners[2]] * weights.Z);
        double side = Vector3d.Dot(point - nearest.Position, normal) * _orientations[_pieceOf[nearest.Point.Triangle]];
        return side < 0 ? -nearest.Distance : nearest.Distance;
    }

    // Those of the pieces; flat ones have that of most of the others' area.
    private static int[] OrientationsOf(TriangleMesh mesh, int[] pieceOf, int count)
    {
        var area = new double[count];
        var middle = new Vector3d[count];
        for (int t = 0; t < pieceOf.Length; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            double length = Vector3.Cross(b - a, c - a).Length();
            area[pieceOf[t]] += length;
            middle[pieceOf[t]] += (Vector3d)(a + b + c) * (length / 3);
        }

        double[] outward = new double[count], atMost = new double[count];
        for (int t = 0; t < pieceOf.Length; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            int piece = pieceOf[t];
            Vector3d normal = Vector3.Cross(b - a, c - a), arm = ((Vector3d)(a + b + c) / 3) - (middle[piece] / Math.Max(area[piece], double.Epsilon));
            outward[piece] += Vector3d.Dot(normal, arm);
            atMost[piece] += normal.Length * arm.Length;
        }

        int[] own = [.. outward.Select((o, piece) => Math.Abs(o) < Flat * atMost[piece] ? 0 : Math.Sign(o))];
        int most = own.Select((sign, piece) => sign * area[piece]).Sum() < 0 ? -1 : 1;
        return [.. own.Select(sign => sign == 0 ? most : sign)];
    }
}
