using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Rendering;

/// <summary>Surface normals of what a view sees.</summary>
public static class ViewNormals
{
    /// <summary>
    /// Unit normals in view space (x right, y up, z towards the viewer), of either side of the surface the one that
    /// faces the viewer, so z is never negative. Background pixels get zero.
    /// </summary>
    /// <param name="buffer">What each pixel sees; S x S pixels.</param>
    /// <param name="view">The view that the buffer was drawn with.</param>
    /// <param name="mesh">The mesh that the buffer was drawn from.</param>
    /// <param name="vertexNormals">
    /// V unit normals in the mesh's frame, interpolated across each triangle (Phong 1975); empty for flat triangles.
    /// </param>
    /// <param name="normals">Receives S² normals, row by row from the top.</param>
    /// <exception cref="ArgumentException">A span of another length, or a view of another size than the buffer.</exception>
    public static void Write(
        VisibilityBuffer buffer,
        in OrthographicView view,
        TriangleMesh mesh,
        ReadOnlySpan<Vector3> vertexNormals,
        Span<Vector3> normals)
    {
        CheckShapes(buffer, view, mesh, vertexNormals);
        if (normals.Length != buffer.Size * buffer.Size)
        {
            throw new ArgumentException($"{normals.Length} normals for {buffer.Size} x {buffer.Size} pixels.", nameof(normals));
        }

        ReadOnlySpan<int> triangles = buffer.Triangles;
        for (int pixel = 0; pixel < normals.Length; pixel++)
        {
            normals[pixel] = triangles[pixel] == VisibilityBuffer.Background
                ? Vector3.Zero
                : At(pixel, buffer, view, mesh, vertexNormals);
        }
    }

    /// <summary>Normal of a foreground pixel.</summary>
    internal static Vector3 At(
        int pixel,
        VisibilityBuffer buffer,
        in OrthographicView view,
        TriangleMesh mesh,
        ReadOnlySpan<Vector3> vertexNormals)
    {
        int corner = 3 * buffer.Triangles[pixel];
        Vector3 normal = Vector3.Zero;
        if (!vertexNormals.IsEmpty)
        {
            ReadOnlySpan<int> corners = mesh.Indices.Slice(corner, 3);
            float b = buffer.WeightB[pixel], c = buffer.WeightC[pixel];
            normal = (vertexNormals[corners[0]] * (1 - b - c)) + (vertexNormals[corners[1]] * b) + (vertexNormals[corners[2]] * c);
        }

        // Opposite vertex normals can cancel out; the triangle's own normal then stands in.
        if (!(normal.LengthSquared() > 1e-12f))
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(corner / 3);
            normal = Vector3.Cross(b - a, c - a);
        }

        float length = normal.Length();
        if (!(length > 0))
        {
            return Vector3.UnitZ;
        }

        normal /= length;
        var seen = new Vector3(
            Vector3.Dot(normal, view.Right), Vector3.Dot(normal, view.Up), Vector3.Dot(normal, view.Toward));
        return seen.Z < 0 ? -seen : seen;
    }

    internal static void CheckShapes(
        VisibilityBuffer buffer, in OrthographicView view, TriangleMesh mesh, ReadOnlySpan<Vector3> vertexNormals)
    {
        ArgumentNullException.ThrowIfNull(buffer);
        ArgumentNullException.ThrowIfNull(mesh);
        if (view.Size != buffer.Size)
        {
            throw new ArgumentException($"The view has {view.Size} pixels a side, the buffer {buffer.Size}.", nameof(view));
        }

        if (!vertexNormals.IsEmpty && vertexNormals.Length != mesh.VertexCount)
        {
            throw new ArgumentException(
                $"{vertexNormals.Length} normals for {mesh.VertexCount} vertices.", nameof(vertexNormals));
        }
    }
}
