using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Tests.Rendering;

/// <summary>Shapes whose views have a closed form.</summary>
internal static class Shapes
{
    /// <summary>Ellipsoid about the origin: a cube's sides, cut into n x n quads, pushed out to the sphere, then scaled.</summary>
    internal static TriangleMesh Ellipsoid(Vector3 radii, int n)
    {
        var positions = new List<Vector3>();
        var indices = new List<int>();
        foreach (Vector3 normal in (Vector3[])[Vector3.UnitX, -Vector3.UnitX, Vector3.UnitY, -Vector3.UnitY, Vector3.UnitZ, -Vector3.UnitZ])
        {
            Vector3 u = new(normal.Y, normal.Z, normal.X);
            Vector3 v = Vector3.Cross(normal, u);
            int first = positions.Count;
            for (int j = 0; j <= n; j++)
            {
                for (int i = 0; i <= n; i++)
                {
                    float s = MathF.Tan((((float)i / n) - 0.5f) * MathF.PI / 2), t = MathF.Tan((((float)j / n) - 0.5f) * MathF.PI / 2);
                    positions.Add(Vector3.Normalize(normal + (u * s) + (v * t)) * radii);
                    if (i < n && j < n)
                    {
                        int a = first + (j * (n + 1)) + i;
                        indices.AddRange([a, a + 1, a + n + 2, a, a + n + 2, a + n + 1]);
                    }
                }
            }
        }

        return new TriangleMesh([.. positions], [.. indices]);
    }

    /// <summary>Unit normals of an ellipsoid's vertices, from its equation.</summary>
    internal static Vector3[] EllipsoidNormals(TriangleMesh mesh, Vector3 radii)
    {
        var normals = new Vector3[mesh.VertexCount];
        for (int v = 0; v < normals.Length; v++)
        {
            normals[v] = Vector3.Normalize(mesh.Positions[v] / (radii * radii));
        }

        return normals;
    }
}
