using System.Numerics;
using System.Runtime.Intrinsics;

namespace AutoPlace.Geometry;

/// <summary>Unit normals at the vertices of a triangle mesh.</summary>
public static class VertexNormals
{
    /// <summary>
    /// Mean of the adjacent triangles' normals, weighted by the triangle's angle at the vertex (Thürmer and Wüthrich
    /// 1998), so that the result doesn't depend on how a polygon was cut. Vertices without area get +Z.
    /// </summary>
    /// <param name="mesh">The mesh; V vertices.</param>
    /// <returns>V unit vectors in the mesh's frame.</returns>
    public static Vector3[] AngleWeighted(TriangleMesh mesh)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        var normals = new Vector3[mesh.VertexCount];
        ReadOnlySpan<int> indices = mesh.Indices;
        ReadOnlySpan<Vector3> positions = mesh.Positions;
        for (int i = 0; i < indices.Length; i += 3)
        {
            (int ia, int ib, int ic) = (indices[i], indices[i + 1], indices[i + 2]);
            (Vector3 a, Vector3 b, Vector3 c) = (positions[ia], positions[ib], positions[ic]);
            Vector3 ab = b - a, bc = c - b, ca = a - c;
            Vector3 cross = Vector3.Cross(ab, -ca);
            float doubleArea = cross.Length();
            if (!(doubleArea > 0))
            {
                continue;
            }

            Vector3 normal = cross / doubleArea;
            Vector128<float> angles = Angles(doubleArea, Vector128.Create(Vector3.Dot(ab, -ca), Vector3.Dot(bc, -ab), Vector3.Dot(ca, -bc), 0));
            normals[ia] += normal * angles[0];
            normals[ib] += normal * angles[1];
            normals[ic] += normal * angles[2];
        }

        for (int v = 0; v < normals.Length; v++)
        {
            float length = normals[v].Length();
            normals[v] = length > 0 ? normals[v] / length : Vector3.UnitZ;
        }

        return normals;
    }

    // atan2(y, x) for positive y, to 2e-6: the series of the arctangent (Abramowitz and Stegun 1964, 4.4.49) on [0, 1].
    private static Vector128<float> Angles(float y, Vector128<float> x)
    {
        Vector128<float> ys = Vector128.Create(y), size = Vector128.Abs(x);
        Vector128<float> t = Vector128.Min(size, ys) / Vector128.Max(size, ys), t2 = t * t;
        Vector128<float> sum = Vector128.Create(0.0028662257f);
        foreach (float coefficient in (ReadOnlySpan<float>)
            [-0.0161657367f, 0.0429096138f, -0.0752896400f, 0.1065626393f, -0.1420889944f, 0.1999355085f, -0.3333314528f, 1])
        {
            sum = (sum * t2) + Vector128.Create(coefficient);
        }

        sum *= t;
        sum = Vector128.ConditionalSelect(Vector128.LessThan(size, ys), Vector128.Create(MathF.PI / 2) - sum, sum);
        return Vector128.ConditionalSelect(Vector128.LessThan(x, Vector128<float>.Zero), Vector128.Create(MathF.PI) - sum, sum);
    }
}
