using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Heads;

/// <summary>Whether faces at a vertex belong to a surface.</summary>
internal enum Coverage
{
    /// <summary>They do.</summary>
    Inside,

    /// <summary>Only those that have another vertex inside.</summary>
    Border,

    /// <summary>None of them.</summary>
    Excluded,
}

/// <summary>Closed all-quad surfaces with the topology of a cube whose sides are grids.</summary>
internal static class CubeSphere
{
    /// <summary>Adds a surface; quads are left out as <see cref="Coverage"/> says.</summary>
    /// <param name="mesh">Receives vertices and quads.</param>
    /// <param name="cells">Quads along each edge of the cube.</param>
    /// <param name="part">Name of the part.</param>
    /// <param name="place">From a unit vector to the vertex in that direction, and how far it counts.</param>
    public static void Add(PolygonMeshBuilder mesh, int cells, string part, Func<Vector3d, (Vector3d Point, Coverage Coverage)> place)
    {
        var vertices = new Dictionary<(int X, int Y, int Z), (int Index, Coverage Coverage)>();
        for (int axis = 0; axis < 3; axis++)
        {
            foreach (int sign in (int[])[-1, 1])
            {
                for (int i = 0; i < cells; i++)
                {
                    for (int j = 0; j < cells; j++)
                    {
                        (int Index, Coverage Coverage)[] face = [Vertex(axis, sign, i, j), Vertex(axis, sign, i + 1, j), Vertex(axis, sign, i + 1, j + 1), Vertex(axis, sign, i, j + 1)];
                        if (IsCovered(face.Select(corner => corner.Coverage)))
                        {
                            mesh.AddFace(part, [.. (sign > 0 ? face : face.Reverse()).Select(corner => corner.Index)]);
                        }
                    }
                }
            }
        }

        (int Index, Coverage Coverage) Vertex(int axis, int sign, int i, int j)
        {
            int u = (2 * i) - cells, v = (2 * j) - cells, w = sign * cells;
            (int X, int Y, int Z) key = axis switch { 0 => (w, u, v), 1 => (v, w, u), _ => (u, v, w) };
            if (!vertices.TryGetValue(key, out (int Index, Coverage Coverage) vertex))
            {
                (Vector3d point, Coverage coverage) = place(new Vector3d(Warp(key.X), Warp(key.Y), Warp(key.Z)).Normalized());
                vertex = (mesh.AddVertex(point), coverage);
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
        Add(mesh, cells, leftPart, direction => (placeLeft(direction), Coverage.Inside));
        Add(mesh, cells, rightPart, direction => (MirrorX(placeLeft(MirrorX(direction))), Coverage.Inside));
    }

    /// <summary>Adds a surface across the midline; the right half is the left one with the sign of x changed.</summary>
    public static void AddMiddle(PolygonMeshBuilder mesh, int cells, string part, Func<Vector3d, Vector3d> placeLeft)
    {
        Add(mesh, cells, part, direction =>
        {
            Vector3d p = placeLeft(direction with { X = Math.Abs(direction.X) });
            return (p with { X = direction.X == 0 ? 0 : direction.X < 0 ? -p.X : p.X }, Coverage.Inside);
        });
    }

    /// <summary>True when a face with such vertices belongs to the surface.</summary>
    public static bool IsCovered(IEnumerable<Coverage> corners) => corners.Contains(Coverage.Inside) && !corners.Contains(Coverage.Excluded);

    private static Vector3d MirrorX(Vector3d p) => p with { X = -p.X };
}
