using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Heads;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>
/// Quads over the zero level of a function: a vertex in each cell that the level passes through, at the mean of its
/// crossings with the cell's edges (Gibson 1998, "Constrained elastic surface nets", without the relaxation).
/// </summary>
internal static class SurfaceNets
{
    /// <summary>Adds the surface.</summary>
    /// <param name="mesh">Receives vertices and quads.</param>
    /// <param name="part">Name of the part.</param>
    /// <param name="distance">Negative inside.</param>
    /// <param name="low">Lowest corner of the box that holds the surface.</param>
    /// <param name="high">Highest corner.</param>
    /// <param name="cell">Side of a cell.</param>
    public static void Add(PolygonMeshBuilder mesh, string part, Func<Vector3d, double> distance, Vector3d low, Vector3d high, double cell)
    {
        int nx = Cells(high.X - low.X), ny = Cells(high.Y - low.Y), nz = Cells(high.Z - low.Z);
        double[,,] values = new double[nx + 1, ny + 1, nz + 1];
        for (int x = 0; x <= nx; x++)
        {
            for (int y = 0; y <= ny; y++)
            {
                for (int z = 0; z <= nz; z++)
                {
                    values[x, y, z] = distance(Corner(x, y, z));
                }
            }
        }

        var vertices = new Dictionary<(int, int, int), int>();
        for (int x = 1; x < nx; x++)
        {
            for (int y = 1; y < ny; y++)
            {
                for (int z = 1; z < nz; z++)
                {
                    // Each edge from this corner that crosses the level gives a quad of the four cells round it.
                    AddQuad(values[x, y, z], values[x + 1, y, z], (x, y - 1, z - 1), (x, y, z - 1), (x, y, z), (x, y - 1, z));
                    AddQuad(values[x, y, z], values[x, y + 1, z], (x - 1, y, z - 1), (x - 1, y, z), (x, y, z), (x, y, z - 1));
                    AddQuad(values[x, y, z], values[x, y, z + 1], (x - 1, y - 1, z), (x, y - 1, z), (x, y, z), (x - 1, y, z));
                }
            }
        }

        int Cells(double length) => (int)Math.Ceiling(length / cell);
        Vector3d Corner(int x, int y, int z) => low + (new Vector3d(x, y, z) * cell);

        void AddQuad(double here, double there, params (int, int, int)[] cells)
        {
            if (here < 0 != there < 0)
            {
                int[] corners = [.. cells.Select(Vertex)];
                mesh.AddFace(part, here < 0 ? corners : [.. corners.Reverse()]);
            }
        }

        int Vertex((int X, int Y, int Z) at)
        {
            if (!vertices.TryGetValue(at, out int vertex))
            {
                vertex = mesh.AddVertex(Mean(at.X, at.Y, at.Z));
                vertices.Add(at, vertex);
            }

            return vertex;
        }

        Vector3d Mean(int x, int y, int z)
        {
            Vector3d sum = Vector3d.Zero;
            int crossings = 0;
            for (int edge = 0; edge < 12; edge++)
            {
                // Along axis edge / 4, at the four combinations of the other two.
                int first = edge % 2, second = edge / 2 % 2;
                (int X, int Y, int Z) a = (edge / 4) switch { 0 => (x, y + first, z + second), 1 => (x + first, y, z + second), _ => (x + first, y + second, z) };
                (int X, int Y, int Z) b = (edge / 4) switch { 0 => (a.X + 1, a.Y, a.Z), 1 => (a.X, a.Y + 1, a.Z), _ => (a.X, a.Y, a.Z + 1) };
                double va = values[a.X, a.Y, a.Z], vb = values[b.X, b.Y, b.Z];
                if (va < 0 != vb < 0)
                {
                    sum += Vector3d.Lerp(Corner(a.X, a.Y, a.Z), Corner(b.X, b.Y, b.Z), va / (va - vb));
                    crossings++;
                }
            }

            return sum / crossings;
        }
    }
}
