using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Tests.Heads;

/// <summary>Bodies of elementary geometry, about two units in size, as quads.</summary>
internal static class Primitives
{
    private const int Around = 48;

    /// <summary>The body of a name: cube, sphere, torus, cylinder, plane or cone.</summary>
    internal static PolygonMesh Of(string name) => name switch
    {
        "cube" => Grid(24, Around, Cube, closed: true),
        "sphere" => Grid(24, Around, Sphere, closed: true),
        "torus" => Grid(24, Around, Torus, closed: true),
        "cylinder" => Profile([new(0, -1), new(0.7f, -1), new(0.7f, 1), new(0, 1)]),
        "cone" => Profile([new(0, -1), new(1, -1), new(0, 1)]),
        _ => Grid(24, 24, (u, v) => new(u - 0.5f, v - 0.5f, 0), closed: false),
    };

    private static Vector3 Sphere(float u, float v)
    {
        (float sin, float cos) = MathF.SinCos(MathF.PI * u);
        return new(sin * MathF.Cos(MathF.Tau * v), cos, sin * MathF.Sin(MathF.Tau * v));
    }

    // The sphere's directions, out to the faces.
    private static Vector3 Cube(float u, float v)
    {
        Vector3 p = Sphere(u, v);
        Vector3 size = Vector3.Abs(p);
        return p / MathF.Max(size.X, MathF.Max(size.Y, size.Z));
    }

    private static Vector3 Torus(float u, float v)
    {
        (float sin, float cos) = MathF.SinCos(MathF.Tau * u);
        float radius = 0.8f + (0.3f * cos);
        return new(radius * MathF.Cos(MathF.Tau * v), 0.3f * sin, radius * MathF.Sin(MathF.Tau * v));
    }

    /// <summary>A line of radius and height, turned about y, each piece in eight steps.</summary>
    private static PolygonMesh Profile(Vector2[] line) => Grid(8 * (line.Length - 1), Around, (u, v) =>
    {
        float at = u * (line.Length - 1);
        int piece = Math.Min((int)at, line.Length - 2);
        Vector2 p = Vector2.Lerp(line[piece], line[piece + 1], at - piece);
        return new(p.X * MathF.Cos(MathF.Tau * v), p.Y, p.X * MathF.Sin(MathF.Tau * v));
    }, closed: true);

    private static PolygonMesh Grid(int rows, int columns, Func<float, float, Vector3> surface, bool closed)
    {
        int width = closed ? columns : columns + 1;
        var positions = new List<Vector3>();
        for (int row = 0; row <= rows; row++)
        {
            for (int column = 0; column < width; column++)
            {
                positions.Add(surface((float)row / rows, (float)column / columns));
            }
        }

        var corners = new List<int>();
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                int a = (row * width) + column, b = (row * width) + ((column + 1) % width);
                corners.AddRange([a, b, b + width, a + width]);
            }
        }

        return new PolygonMesh([.. positions], [.. Enumerable.Range(0, (rows * columns) + 1).Select(f => 4 * f)], [.. corners]);
    }
}
