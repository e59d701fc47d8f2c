using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Heads;

/// <summary>Closed all-quad surfaces with the topology of a cube whose sides are grids.</summary>
internal static class CubeSphere
{
    /// <summary>Adds a surface.</summary>
    /// <param name="mesh">Receives vertices and quads.</param>
    /// <param name="cells">Quads along each edge of the cube.</param>
    /// <param name="part">Name of the part.</param>
    /// <param name="place">From a unit vector to the vertex in that direction.</param>
    public static void Add(PolygonMeshBuilder mesh, int cells, string part, Func<Vector3d, Vector3d> place)
    {
        var vertices = new Dictionary<(int X, int Y, int Z), int>();
        for (int axis = 0; axis < 3; axis++)
        {
            foreach (int sign in (int[])[-1, 1])
            {
                for (int i = 0; i < cells; i++)
                {
                    for (int j = 0; j < cells; j++)
                    {
                        int[] face = [Vertex(axis, sign, i, j), Vertex(axis, sign, i + 1, j), Vertex(axis, sign, i + 1, j + 1), Vertex(axis, sign, i, j + 1)];
                        mesh.AddFace(part, sign > 0 ? face : [.. face.Reverse()]);
                    }
                }
            }
        }

        int Vertex(int axis, int sign, int i, int j)
        {
            int u = (2 * i) - cells, v = (2 * j) - cells, w = sign * cells;
            (int X, int Y, int Z) key = axis switch { 0 => (w, u, v), 1 => (v, w, u), _ => (u, v, w) };
            if (!vertices.TryGetValue(key, out int vertex))
            {
                vertex = mesh.AddVertex(place(new Vector3d(Warp(key.X), Warp(key.Y), Warp(key.Z)).Normalized()));
                vertices.Add(key, vertex);
            }

            return vertex;
        }

        // Equal angles along each edge of the cube.
        double Warp(int k) => Math.Tan(k * Math.PI / (4.0 * cells));
    }

    /// <summary>Adds a surface of the left half and its mirror image, which agree to the last bit.</summary>
    public static void AddPair(PolygonMeshBuilder mesh, int cells, string leftPart, string rightPart, Func<Vector3d, Vector3d> placeLeft)
    {
        Add(mesh, cells, leftPart, placeLeft);
        Add(mesh, cells, rightPart, direction => MirrorX(placeLeft(MirrorX(direction))));
    }

    /// <summary>Adds a surface across the midline; the right half is the left one with the sign of x changed.</summary>
    public static void AddMiddle(PolygonMeshBuilder mesh, int cells, string part, Func<Vector3d, Vector3d> placeLeft)
    {
        Add(mesh, cells, part, direction =>
        {
            Vector3d p = placeLeft(direction with { X = Math.Abs(direction.X) });
            return p with { X = direction.X == 0 ? 0 : direction.X < 0 ? -p.X : p.X };
        });
    }

    private static Vector3d MirrorX(Vector3d p) => p with { X = -p.X };
}
