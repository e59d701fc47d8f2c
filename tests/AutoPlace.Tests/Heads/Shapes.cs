using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Tests.Heads;

/// <summary>Closed-form surfaces, as meshes.</summary>
internal static class Shapes
{
    /// <summary>
    /// Unit cube-sphere: n x n quads on each of six sides, projected radially; counter-clockwise from outside. It has
    /// 6 n^2 + 2 vertices, all of valence 4 except the eight corners of valence 3.
    /// </summary>
    public static PolygonMesh CubeSphere(int n)
    {
        var index = new Dictionary<(int X, int Y, int Z), int>();
        var positions = new List<Vector3>();
        var corners = new List<int>();
        int Vertex(int x, int y, int z)
        {
            if (!index.TryGetValue((x, y, z), out int v))
            {
                v = positions.Count;
                index.Add((x, y, z), v);
                positions.Add(Vector3.Normalize(new Vector3(Warp(x, n), Warp(y, n), Warp(z, n))));
            }

            return v;
        }

        for (int axis = 0; axis < 3; axis++)
        {
            for (int side = 0; side < 2; side++)
            {
                for (int i = 0; i < n; i++)
                {
                    for (int j = 0; j < n; j++)
                    {
                        (int, int)[] quad = side == 1
                            ? [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)]
                            : [(i, j), (i, j + 1), (i + 1, j + 1), (i + 1, j)];
                        foreach ((int a, int b) in quad)
                        {
                            corners.Add(axis switch
                            {
                                0 => Vertex(side * n, a, b),
                                1 => Vertex(b, side * n, a),
                                _ => Vertex(a, b, side * n),
                            });
                        }
                    }
                }
            }
        }

        int[] starts = [.. Enumerable.Range(0, (corners.Count / 4) + 1).Select(f => 4 * f)];
        return new PolygonMesh([.. positions], starts, [.. corners]);
    }

    /// <summary>A cube-sphere of a given radius about a centre, cut into triangles.</summary>
    public static TriangleMesh Sphere(int n, double radius = 1, Vector3 centre = default) =>
        Map(CubeSphere(n).Triangulate(out _), p => (p * (float)radius) + centre);

    /// <summary>
    /// A lump with about the outline of a head in units of the interocular distance: an ellipsoid with a nose, so that
    /// no axis is a symmetry axis except the first one.
    /// </summary>
    public static TriangleMesh Lump(int n) => Map(CubeSphere(n).Triangulate(out _), ToLump);

    /// <summary>The map from the unit sphere to <see cref="Lump"/>.</summary>
    public static Vector3 ToLump(Vector3 p)
    {
        float nose = MathF.Exp(-8 * Vector3.DistanceSquared(p, Vector3.Normalize(new Vector3(0, -0.2f, 1))));
        return new Vector3(1.2f * p.X, 1.8f * p.Y, (1.5f * p.Z) + (0.5f * nose));
    }

    /// <summary>An axis-aligned box from eight vertices, twelve triangles.</summary>
    public static TriangleMesh Box(Vector3 min, Vector3 max)
    {
        var positions = new Vector3[8];
        for (int v = 0; v < 8; v++)
        {
            positions[v] = new Vector3((v & 1) == 0 ? min.X : max.X, (v & 2) == 0 ? min.Y : max.Y, (v & 4) == 0 ? min.Z : max.Z);
        }

        int[] quads = [0, 2, 3, 1, 4, 5, 7, 6, 0, 1, 5, 4, 2, 6, 7, 3, 0, 4, 6, 2, 1, 3, 7, 5];
        return new PolygonMesh(positions, [0, 4, 8, 12, 16, 20, 24], quads).Triangulate(out _);
    }

    /// <summary>A flat n x m grid of unit quads in the plane z = 0, from the origin along +x and +y.</summary>
    public static PolygonMesh Grid(int n, int m)
    {
        var positions = new Vector3[(n + 1) * (m + 1)];
        for (int v = 0; v < positions.Length; v++)
        {
            positions[v] = new Vector3(v % (n + 1), v / (n + 1), 0);
        }

        var corners = new List<int>();
        for (int j = 0; j < m; j++)
        {
            for (int i = 0; i < n; i++)
            {
                int v = (j * (n + 1)) + i;
                corners.AddRange([v, v + 1, v + n + 2, v + n + 1]);
            }
        }

        return new PolygonMesh(positions, [.. Enumerable.Range(0, (n * m) + 1).Select(f => 4 * f)], [.. corners]);
    }

    /// <summary>The same triangles with every position mapped.</summary>
    public static TriangleMesh Map(TriangleMesh mesh, Func<Vector3, Vector3> map)
    {
        Vector3[] positions = mesh.Positions.ToArray();
        for (int v = 0; v < positions.Length; v++)
        {
            positions[v] = map(positions[v]);
        }

        return mesh.WithPositions(positions);
    }

    /// <summary>Several meshes in one, without joining any vertices.</summary>
    public static TriangleMesh Join(params TriangleMesh[] meshes)
    {
        var positions = new List<Vector3>();
        var indices = new List<int>();
        foreach (TriangleMesh mesh in meshes)
        {
            int offset = positions.Count;
            positions.AddRange(mesh.Positions);
            foreach (int i in mesh.Indices)
            {
                indices.Add(offset + i);
            }
        }

        return new TriangleMesh([.. positions], [.. indices]);
    }

    /// <summary>The triangles that a predicate on their centroid keeps; vertices stay.</summary>
    public static TriangleMesh Keep(TriangleMesh mesh, Func<Vector3, bool> keep)
    {
        var indices = new List<int>();
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            if (keep((a + b + c) / 3))
            {
                indices.AddRange(mesh.Indices.Slice(3 * t, 3));
            }
        }

        return new TriangleMesh(mesh.Positions.ToArray(), [.. indices]);
    }

    /// <summary>The same surface with vertices, triangles and each triangle's first corner drawn anew.</summary>
    public static TriangleMesh Shuffle(TriangleMesh mesh, Random random)
    {
        int[] newVertex = [.. Enumerable.Range(0, mesh.VertexCount)];
        int[] triangles = [.. Enumerable.Range(0, mesh.TriangleCount)];
        random.Shuffle(newVertex);
        random.Shuffle(triangles);
        var positions = new Vector3[mesh.VertexCount];
        for (int v = 0; v < positions.Length; v++)
        {
            positions[newVertex[v]] = mesh.Positions[v];
        }

        var indices = new int[mesh.Indices.Length];
        for (int t = 0; t < triangles.Length; t++)
        {
            int turn = random.Next(3);
            for (int c = 0; c < 3; c++)
            {
                indices[(3 * t) + c] = newVertex[mesh.Indices[(3 * triangles[t]) + ((c + turn) % 3)]];
            }
        }

        return new TriangleMesh(positions, indices);
    }

    /// <summary>The same mesh with vertices, faces and the first corner of each face in seeded random order, and the new number of each vertex and face.</summary>
    public static (PolygonMesh Mesh, int[] Vertices, int[] Faces) Shuffled(PolygonMesh mesh, int seed)
    {
        var random = new Random(seed);
        int[] vertexOrder = [.. Enumerable.Range(0, mesh.VertexCount)], faceOrder = [.. Enumerable.Range(0, mesh.FaceCount)];
        random.Shuffle(vertexOrder);
        random.Shuffle(faceOrder);
        int[] vertices = Numbers(vertexOrder);
        var starts = new List<int> { 0 };
        var corners = new List<int>();
        foreach (int f in faceOrder)
        {
            ReadOnlySpan<int> face = mesh.Face(f);
            int first = random.Next(face.Length);
            for (int c = 0; c < face.Length; c++)
            {
                corners.Add(vertices[face[(first + c) % face.Length]]);
            }

            starts.Add(corners.Count);
        }

        return (new PolygonMesh([.. vertexOrder.Select(v => mesh.Positions[v])], [.. starts], [.. corners]), vertices, Numbers(faceOrder));

        static int[] Numbers(int[] order)
        {
            int[] numbers = new int[order.Length];
            for (int i = 0; i < order.Length; i++)
            {
                numbers[order[i]] = i;
            }

            return numbers;
        }
    }

    /// <summary>The triangles as polygons.</summary>
    public static PolygonMesh Polygons(TriangleMesh triangles) => new(
        triangles.Positions.ToArray(), [.. Enumerable.Range(0, triangles.TriangleCount + 1).Select(t => 3 * t)], triangles.Indices.ToArray());

    private static float Warp(int i, int n) => MathF.Tan(MathF.PI / 4 * (((2f * i) / n) - 1));
}
