using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Export;

/// <summary>Finds a scan's vertex by its position.</summary>
internal sealed class ScanVertexLookup
{
    /// <summary>Positions this near are the same vertex, in interocular distances.</summary>
    private const double Tolerance = 1e-3;

    private readonly Dictionary<Vector3, int> _exact;
    private readonly Lazy<BoundingVolumeHierarchy> _hierarchy;
    private readonly float _reach;

    /// <summary>Indexes a scan.</summary>
    /// <param name="mesh">The scan, file coordinates.</param>
    /// <param name="interocularDistance">Size of the head in the file's unit.</param>
    internal ScanVertexLookup(PolygonMesh mesh, double interocularDistance)
    {
        _exact = new Dictionary<Vector3, int>(mesh.VertexCount);
        for (int v = 0; v < mesh.VertexCount; v++)
        {
            _exact.TryAdd(mesh.Positions[v], v);
        }

        _hierarchy = new Lazy<BoundingVolumeHierarchy>(() => new BoundingVolumeHierarchy(mesh.Triangulate(out _)));
        _reach = (float)(interocularDistance * Tolerance);
    }

    /// <summary>The vertex at a position, or -1 when no vertex is there.</summary>
    /// <param name="position">Position, file coordinates.</param>
    internal int Find(Vector3 position)
    {
        if (_exact.TryGetValue(position, out int vertex))
        {
            return vertex;
        }

        SurfaceProximity nearest = _hierarchy.Value.ClosestPoint(position, _reach);
        if (!nearest.IsFound)
        {
            return -1;
        }

        Vector3d weights = nearest.Point.Barycentric;
        int corner = weights.X >= weights.Y && weights.X >= weights.Z ? 0 : weights.Y >= weights.Z ? 1 : 2;
        return _hierarchy.Value.Mesh.Indices[(3 * nearest.Point.Triangle) + corner];
    }
}
