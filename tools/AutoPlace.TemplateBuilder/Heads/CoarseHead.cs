using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Heads;

/// <summary>Plain closed surfaces: a cube-sphere laid on a head from outside, and balls for the eyes.</summary>
internal static class CoarseHead
{
    /// <summary>Point inside the head from which its whole surface is seen, atlas coordinates.</summary>
    public static Vector3d Centre { get; } = new(0, -0.35, -0.75);

    private const int Cells = 24;
    private const int BallCells = 6;

    /// <summary>Builds the head; faces and the name of each one's part. Open over the eyes and under the neck.</summary>
    public static (PolygonMesh Mesh, string[] Parts) Build(HeadEnvelope envelope, Vector3d eye, double ballRadius)
    {
        var mesh = new PolygonMeshBuilder();
        CubeSphere(mesh, Cells, "skin", direction =>
        {
            (Vector3d point, EnvelopePart part) = envelope.Toward(Centre, direction);
            return (point, part == EnvelopePart.Skin);
        });
        AddBalls(mesh, eye, ballRadius);
        return mesh.Build();
    }

    /// <summary>Adds both eyeballs, mirror images of each other.</summary>
    public static void AddBalls(PolygonMeshBuilder mesh, Vector3d eye, double radius)
    {
        CubeSphere(mesh, BallCells, "eyeball_left", direction => (eye + (direction * radius), true));
        CubeSphere(mesh, BallCells, "eyeball_right", direction => (MirrorX(eye + (MirrorX(direction) * radius)), true));
    }

    // Faces without a corner on the surface are left out.
    private static void CubeSphere(PolygonMeshBuilder mesh, int cells, string part, Func<Vector3d, (Vector3d Point, bool Inside)> place)
    {
        var vertices = new Dictionary<(int X, int Y, int Z), (int Index, bool Inside)>();
        for (int axis = 0; axis < 3; axis++)
        {
            foreach (int sign in (int[])[-1, 1])
            {
                for (int i = 0; i < cells; i++)
                {
                    for (int j = 0; j < cells; j++)
                    {
                        (int Index, bool Inside)[] face = [Vertex(axis, sign, i, j), Vertex(axis, sign, i + 1, j), Vertex(axis, sign, i + 1, j + 1), Vertex(axis, sign, i, j + 1)];
                        if (face.Any(corner => corner.Inside))
                        {
                            mesh.AddFace(part, [.. (sign > 0 ? face : face.Reverse()).Select(corner => corner.Index)]);
                        }
                    }
                }
            }
        }

        (int Index, bool Inside) Vertex(int axis, int sign, int i, int j)
        {
            int u = (2 * i) - cells, v = (2 * j) - cells, w = sign * cells;
            (int X, int Y, int Z) key = axis switch { 0 => (w, u, v), 1 => (v, w, u), _ => (u, v, w) };
            if (!vertices.TryGetValue(key, out (int Index, bool Inside) vertex))
            {
                (Vector3d point, bool inside) = place(new Vector3d(Warp(key.X), Warp(key.Y), Warp(key.Z)).Normalized());
                vertex = (mesh.AddVertex((Vector3)point), inside);
                vertices.Add(key, vertex);
            }

            return vertex;
        }

        // Equal angles along each edge of the cube.
        double Warp(int k) => Math.Tan(k * Math.PI / (4.0 * cells));
    }

    private static Vector3d MirrorX(Vector3d p) => p with { X = -p.X };
}
