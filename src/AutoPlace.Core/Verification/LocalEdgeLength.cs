using System.Numerics;
using System.Runtime.InteropServices;
using AutoPlace.Geometry;

namespace AutoPlace.Verification;

/// <summary>How fine a mesh is from place to place: the mean length of its edges in a grid of cells.</summary>
internal sealed class LocalEdgeLength
{
    private const float CellSize = 0.2f;

    private readonly Dictionary<(int X, int Y, int Z), (double Sum, int Count)> _cells = [];
    private readonly double _mean;

    /// <summary>Measures a mesh. Linear in its triangles.</summary>
    /// <param name="mesh">Mesh, interocular distances.</param>
    public LocalEdgeLength(TriangleMesh mesh)
    {
        double total = 0;
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            double perimeter = Vector3.Distance(a, b) + Vector3.Distance(b, c) + Vector3.Distance(c, a);
            total += perimeter;
            ref (double Sum, int Count) cell = ref CollectionsMarshal.GetValueRefOrAddDefault(_cells, Cell((a + b + c) / 3), out _);
            cell = (cell.Sum + perimeter, cell.Count + 3);
        }

        _mean = mesh.TriangleCount > 0 ? total / (3.0 * mesh.TriangleCount) : 0;
    }

    /// <summary>Mean length of the edges in the cell of a point and the 26 around it; that of the whole mesh where there are none.</summary>
    public double At(Vector3d point)
    {
        (int x, int y, int z) = Cell((Vector3)point);
        double sum = 0;
        int count = 0;
        for (int neighbour = 0; neighbour < 27; neighbour++)
        {
            var key = (x + (neighbour % 3) - 1, y + (neighbour / 3 % 3) - 1, z + (neighbour / 9) - 1);
            (double s, int n) = _cells.GetValueOrDefault(key);
            sum += s;
            count += n;
        }

        return count > 0 ? sum / count : _mean;
    }

    private static (int X, int Y, int Z) Cell(Vector3 p) =>
        ((int)MathF.Floor(p.X / CellSize), (int)MathF.Floor(p.Y / CellSize), (int)MathF.Floor(p.Z / CellSize));
}
