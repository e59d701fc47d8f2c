using System.Numerics;

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
            normals[ia] += normal * MathF.Atan2(doubleArea, Vector3.Dot(ab, -ca));
            normals[ib] += normal * MathF.Atan2(doubleArea, Vector3.Dot(bc, -ab));
            normals[ic] += normal * MathF.Atan2(doubleArea, Vector3.Dot(ca, -bc));
        }

        for (int v = 0; v < normals.Length; v++)
        {
            float length = normals[v].Length();
            normals[v] = length > 0 ? normals[v] / length : Vector3.UnitZ;
        }

        return normals;
    }
}
