using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Benchmarks.Rendering;

/// <summary>A closed ellipsoid with about as many vertices as a detailed head, and about as large, in interocular distances.</summary>
internal static class HeadSizedMesh
{
    /// <summary>A latitude-longitude ellipsoid of <paramref name="rings"/> x <paramref name="sectors"/> vertices.</summary>
    internal static TriangleMesh Create(int rings = 117, int sectors = 230)
    {
        var centre = new Vector3(0, -0.5f, -0.6f);
        var radii = new Vector3(1.25f, 1.9f, 1.5f);
        var positions = new Vector3[rings * sectors];
        var indices = new List<int>();
        for (int r = 0; r < rings; r++)
        {
            (float sinPolar, float cosPolar) = MathF.SinCos(MathF.PI * (r + 0.5f) / rings);
            for (int s = 0; s < sectors; s++)
            {
                (float sin, float cos) = MathF.SinCos(MathF.Tau * s / sectors);
                positions[(r * sectors) + s] = centre + (radii * new Vector3(sin * sinPolar, cosPolar, cos * sinPolar));
                if (r + 1 < rings)
                {
                    int a = (r * sectors) + s, b = (r * sectors) + ((s + 1) % sectors);
                    indices.AddRange([a, a + sectors, b, b, a + sectors, b + sectors]);
                }
            }
        }

        return new TriangleMesh(positions, [.. indices]);
    }
}
