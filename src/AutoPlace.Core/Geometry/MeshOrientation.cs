using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>Which way a mesh's triangles wind.</summary>
internal static class MeshOrientation
{
    /// <summary>True when triangles face away from the middle of the surface on the whole, or none has an area. O(T).</summary>
    /// <param name="mesh">Triangles; the surface may have holes.</param>
    internal static bool FacesOutward(TriangleMesh mesh)
    {
        // Sum of normal * (centroid - middle) over the triangles, with normals as long as the areas.
        Vector3d weighted = Vector3d.Zero, normals = Vector3d.Zero;
        double area = 0, fromOrigin = 0;
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            Vector3d centroid = (a + b + c) / 3, normal = Vector3.Cross(b - a, c - a);
            double length = normal.Length;
            weighted += centroid * length;
            area += length;
            normals += normal;
            fromOrigin += Vector3d.Dot(centroid, normal);
        }

        return area == 0 || fromOrigin >= Vector3d.Dot(weighted / area, normals);
    }
}
