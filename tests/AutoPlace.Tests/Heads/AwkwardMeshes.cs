using System.Numerics;
using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Heads;

/// <summary>Small meshes with the faults that real heads have. README.md beside this file has a line on each.</summary>
internal static class AwkwardMeshes
{
    private static readonly Dictionary<string, Func<TriangleMesh>> Builders = new()
    {
        ["closed"] = () => Shapes.Lump(8),
        ["open-neck"] = () => Shapes.Keep(Shapes.Lump(8), p => p.Y > -1.2f),
        ["mask"] = () => Shapes.Keep(Shapes.Lump(8), p => p.Z > 0.2f),
        ["non-manifold-edge"] = () => WithFin(Shapes.Lump(6)),
        ["mirrored-winding"] = () => Shapes.Map(Shapes.Lump(8), p => new Vector3(-p.X, p.Y, p.Z)),
        ["mixed-winding"] = () => TurnEveryThird(Shapes.Lump(8)),
        ["degenerate-triangles"] = () => WithDegenerateTriangles(Shapes.Lump(6)),
        ["two-eyeballs"] = () => Shapes.Join(
            Shapes.Lump(8), Shapes.Sphere(4, 0.25, new(0.5f, 0.2f, 1.2f)), Shapes.Sphere(4, 0.25, new(-0.5f, 0.2f, 1.2f))),
        ["duplicate-faces"] = () => Shapes.Join(Shapes.Lump(6), Shapes.Lump(6)),
        ["duplicate-turned-faces"] = () => Shapes.Join(Shapes.Lump(6), Turned(Shapes.Lump(6))),
        ["self-intersecting"] = () => Shapes.Join(Shapes.Lump(6), Shapes.Map(Shapes.Lump(6), p => p + new Vector3(0.4f, 0.3f, 0))),
        ["unused-vertices"] = () => Shapes.Keep(Shapes.Lump(6), p => p.X > 0.5f),
        ["tiny"] = () => Shapes.Map(Shapes.Lump(6), p => p * 1e-6f),
        ["huge"] = () => Shapes.Map(Shapes.Lump(6), p => p * 1e6f),
        ["far-from-origin"] = () => Shapes.Map(Shapes.Lump(6), p => p + new Vector3(1000, -500, 2000)),
        ["flat"] = () => Shapes.Grid(7, 5).Triangulate(out _),
        ["one-triangle"] = () => new TriangleMesh([Vector3.Zero, Vector3.UnitX, Vector3.UnitY], [0, 1, 2]),
        ["one-point"] = () => new TriangleMesh([new(1, 2, 3)], [0, 0, 0]),
    };

    /// <summary>Names of all meshes, for theories.</summary>
    public static IEnumerable<TheoryDataRow<string>> Names => Builders.Keys.Select(name => new TheoryDataRow<string>(name));

    /// <summary>Builds one of them.</summary>
    public static TriangleMesh Build(string name) => Builders[name]();

    /// <summary>Bounds of the triangles (unused vertices don't count).</summary>
    public static (Vector3 Min, Vector3 Max) Bounds(TriangleMesh mesh)
    {
        (Vector3 min, Vector3 max) = (new Vector3(float.MaxValue), new Vector3(float.MinValue));
        foreach (int v in mesh.Indices)
        {
            min = Vector3.Min(min, mesh.Positions[v]);
            max = Vector3.Max(max, mesh.Positions[v]);
        }

        return (min, max);
    }

    private static TriangleMesh WithFin(TriangleMesh mesh)
    {
        Vector3 tip = mesh.Positions[mesh.Indices[0]] * 1.5f;
        Vector3[] positions = [.. mesh.Positions, tip];
        int[] indices = [.. mesh.Indices, mesh.Indices[0], mesh.Indices[1], mesh.VertexCount];
        return new TriangleMesh(positions, indices);
    }

    private static TriangleMesh WithDegenerateTriangles(TriangleMesh mesh)
    {
        (Vector3 a, Vector3 b, _) = mesh.Corners(5);
        int v = mesh.VertexCount;
        Vector3[] positions = [.. mesh.Positions, Vector3.Lerp(a, b, 0.5f), Vector3.Lerp(a, b, 0.25f) + new Vector3(0, 1e-9f, 0)];
        int[] needle = [mesh.Indices[15], v, mesh.Indices[16], mesh.Indices[15], mesh.Indices[16], v + 1];
        int[] point = [3, 3, 3];
        int[] segment = [0, 1, 1];
        return new TriangleMesh(positions, [.. mesh.Indices, .. needle, .. point, .. segment]);
    }

    private static TriangleMesh TurnEveryThird(TriangleMesh mesh)
    {
        int[] indices = mesh.Indices.ToArray();
        for (int t = 0; t < mesh.TriangleCount; t += 3)
        {
            (indices[3 * t], indices[(3 * t) + 1]) = (indices[(3 * t) + 1], indices[3 * t]);
        }

        return new TriangleMesh(mesh.Positions.ToArray(), indices);
    }

    private static TriangleMesh Turned(TriangleMesh mesh)
    {
        int[] indices = mesh.Indices.ToArray();
        Array.Reverse(indices);
        return new TriangleMesh(mesh.Positions.ToArray(), indices);
    }
}
