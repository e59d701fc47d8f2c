using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Tests.Import;

/// <summary>Small meshes to write and read.</summary>
internal static class TestMeshes
{
    /// <summary>A sphere of quads with triangles at the poles, every position its own.</summary>
    public static PolygonMesh Sphere(int rings, int sectors, Vector3 centre = default)
    {
        var positions = new List<Vector3> { centre + Vector3.UnitY, centre - Vector3.UnitY };
        var faces = new List<int[]>();
        for (int r = 1; r < rings; r++)
        {
            for (int s = 0; s < sectors; s++)
            {
                (float sinA, float cosA) = MathF.SinCos(MathF.PI * r / rings);
                (float sinB, float cosB) = MathF.SinCos(2 * MathF.PI * s / sectors);
                positions.Add(centre + new Vector3(sinA * sinB, cosA, sinA * cosB));
            }
        }

        int At(int r, int s) => 2 + ((r - 1) * sectors) + (s % sectors);
        for (int s = 0; s < sectors; s++)
        {
            faces.Add([0, At(1, s), At(1, s + 1)]);
            for (int r = 1; r + 1 < rings; r++)
            {
                faces.Add([At(r, s), At(r + 1, s), At(r + 1, s + 1), At(r, s + 1)]);
            }

            faces.Add([1, At(rings - 1, s + 1), At(rings - 1, s)]);
        }

        return Mesh(positions, faces);
    }

    /// <summary>A waving sheet of columns x rows quads.</summary>
    public static PolygonMesh Sheet(int columns, int rows)
    {
        var positions = new List<Vector3>();
        var faces = new List<int[]>();
        for (int r = 0; r <= rows; r++)
        {
            for (int c = 0; c <= columns; c++)
            {
                positions.Add(new Vector3(c, r, MathF.Sin(0.7f * c) * MathF.Cos(0.4f * r)));
            }
        }

        for (int r = 0; r < rows; r++)
        {
            for (int c = 0; c < columns; c++)
            {
                int at = (r * (columns + 1)) + c;
                faces.Add([at, at + 1, at + columns + 2, at + columns + 1]);
            }
        }

        return Mesh(positions, faces);
    }

    public static PolygonMesh Mesh(List<Vector3> positions, List<int[]> faces)
    {
        var starts = new List<int> { 0 };
        var corners = new List<int>();
        foreach (int[] face in faces)
        {
            corners.AddRange(face);
            starts.Add(corners.Count);
        }

        return new PolygonMesh([.. positions], [.. starts], [.. corners]);
    }

    public static HeadScan Read(byte[] bytes, string name, MeshReadOptions? options = null) =>
        MeshReader.Read(new MemoryStream(bytes), name, options);

    /// <summary>Faces as lists of positions, each beginning at its smallest corner, so that numbering doesn't matter.</summary>
    public static List<string> Shape(PolygonMesh mesh)
    {
        var faces = new List<string>();
        for (int f = 0; f < mesh.FaceCount; f++)
        {
            var corners = new List<string>();
            foreach (int v in mesh.Face(f))
            {
                corners.Add((mesh.Positions[v] + Vector3.Zero).ToString("R", null));
            }

            int first = corners.IndexOf(corners.Min(StringComparer.Ordinal)!);
            faces.Add(string.Join(' ', corners.Skip(first).Concat(corners.Take(first))));
        }

        faces.Sort(StringComparer.Ordinal);
        return faces;
    }

    public static void AssertSame(PolygonMesh expected, PolygonMesh actual)
    {
        Xunit.Assert.Equal(expected.Positions.ToArray(), actual.Positions.ToArray());
        Xunit.Assert.Equal(expected.FaceStarts.ToArray(), actual.FaceStarts.ToArray());
        Xunit.Assert.Equal(expected.FaceVertices.ToArray(), actual.FaceVertices.ToArray());
    }
}
