using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Sources;

namespace AutoPlace.TemplateBuilder.Heads;

/// <summary>A plain closed head: a cube-sphere laid on a skin from outside, and a ball for each eye. No mouth, no lids.</summary>
internal static class CoarseHead
{
    private const int Cells = 24;
    private const int BallCells = 6;
    private const double BallRadius = 0.2403;

    /// <summary>Builds the head; faces and the name of each one's part.</summary>
    public static (PolygonMesh Mesh, string[] Parts) Build(SkinSurface skin)
    {
        var mesh = new PolygonMeshBuilder();
        var centre = new Vector3d(0, -0.35, -0.75);
        CubeSphere(mesh, Cells, "skin", direction =>
        {
            // Right half: the left one with the sign of x changed, so that both agree to the last bit.
            Vector3d left = direction with { X = Math.Abs(direction.X) };
            Vector3d point = (skin.FromOutside(centre, -left) ?? throw new InvalidOperationException($"No skin along {left}.")).Point;
            return point with { X = direction.X == 0 ? 0 : direction.X < 0 ? -point.X : point.X };
        });
        CubeSphere(mesh, BallCells, "eyeball_left", direction => new Vector3d(0.5, 0, 0) + (direction * BallRadius));
        CubeSphere(mesh, BallCells, "eyeball_right", direction => new Vector3d(-0.5, 0, 0) + (direction * BallRadius));
        return mesh.Build();
    }

    private static void CubeSphere(PolygonMeshBuilder mesh, int cells, string part, Func<Vector3d, Vector3d> place)
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
            if (!vertices.TryGetValue(key, out int index))
            {
                var direction = new Vector3d(Warp(key.X), Warp(key.Y), Warp(key.Z));
                index = mesh.AddVertex((Vector3)place(direction.Normalized()));
                vertices.Add(key, index);
            }

            return index;
        }

        // Equal angles along each edge of the cube.
        double Warp(int k) => Math.Tan(k * Math.PI / (4.0 * cells));
    }
}
