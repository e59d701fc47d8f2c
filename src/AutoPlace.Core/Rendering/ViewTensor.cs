using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Rendering;

/// <summary>
/// The landmark network's input for one view: six planes of S x S floats, each row by row from the top.
/// Plane 0 is depth over half size (towards the viewer, relative to the view's centre, background 0); 1 to 3 the unit
/// normal in view space, facing the viewer (background 0); 4 the mask, 1 where a triangle is seen; 5 the border, 1
/// where the pixel and its right or lower neighbour see different materials.
/// </summary>
public static class ViewTensor
{
    /// <summary>Number of planes.</summary>
    public const int Channels = 6;

    /// <summary>Number of floats for one view.</summary>
    /// <param name="size">Pixels a side.</param>
    public static int Length(int size) => Channels * size * size;

    /// <summary>Writes the planes of one view; every element is written.</summary>
    /// <param name="buffer">What each pixel sees.</param>
    /// <param name="view">The view that the buffer was drawn with.</param>
    /// <param name="mesh">The mesh that the buffer was drawn from, in the view's frame.</param>
    /// <param name="vertexNormals">V unit normals, interpolated across each triangle; empty for flat triangles.</param>
    /// <param name="triangleMaterials">T material or part ids; empty when there is only one.</param>
    /// <param name="planes">Receives <see cref="Length"/> floats.</param>
    /// <exception cref="ArgumentException">A span of another length, or a view of another size than the buffer.</exception>
    public static void Write(
        VisibilityBuffer buffer,
        in OrthographicView view,
        TriangleMesh mesh,
        ReadOnlySpan<Vector3> vertexNormals,
        ReadOnlySpan<int> triangleMaterials,
        Span<float> planes)
    {
        ViewNormals.CheckShapes(buffer, view, mesh, vertexNormals);
        if (!triangleMaterials.IsEmpty && triangleMaterials.Length != mesh.TriangleCount)
        {
            throw new ArgumentException(
                $"{triangleMaterials.Length} materials for {mesh.TriangleCount} triangles.", nameof(triangleMaterials));
        }

        if (planes.Length != Length(buffer.Size))
        {
            throw new ArgumentException(
                $"{planes.Length} elements for {Channels} planes of {buffer.Size} x {buffer.Size}.", nameof(planes));
        }

        planes.Clear();
        int area = buffer.Size * buffer.Size;
        Span<float> depth = planes[..area], mask = planes.Slice(4 * area, area);
        Span<float> x = planes.Slice(area, area), y = planes.Slice(2 * area, area), z = planes.Slice(3 * area, area);
        ReadOnlySpan<int> triangles = buffer.Triangles;
        ReadOnlySpan<float> viewZ = buffer.Z;
        for (int pixel = 0; pixel < area; pixel++)
        {
            if (triangles[pixel] == VisibilityBuffer.Background)
            {
                continue;
            }

            Vector3 normal = ViewNormals.At(pixel, buffer, view, mesh, vertexNormals);
            depth[pixel] = viewZ[pixel] / view.HalfSize;
            x[pixel] = normal.X;
            y[pixel] = normal.Y;
            z[pixel] = normal.Z;
            mask[pixel] = 1;
        }

        if (!triangleMaterials.IsEmpty)
        {
            WriteBorder(triangles, buffer.Size, triangleMaterials, planes[(5 * area)..]);
        }
    }

    /// <summary>Turns the planes of a view into those of its mirror image; only the border's pixels stay on their side of a border.</summary>
    /// <param name="planes">The planes, as <see cref="Write"/> makes them.</param>
    /// <param name="size">Pixels a side.</param>
    /// <exception cref="ArgumentException">A span of another length.</exception>
    public static void Mirror(Span<float> planes, int size)
    {
        if (planes.Length != Length(size))
        {
            throw new ArgumentException($"{planes.Length} elements for {Channels} planes of {size} x {size}.", nameof(planes));
        }

        for (int row = 0; row < planes.Length; row += size)
        {
            planes.Slice(row, size).Reverse();
        }

        foreach (ref float normalX in planes.Slice(size * size, size * size))
        {
            normalX = -normalX;
        }
    }

    private static void WriteBorder(ReadOnlySpan<int> triangles, int size, ReadOnlySpan<int> materials, Span<float> border)
    {
        for (int row = 0; row < size; row++)
        {
            for (int column = 0; column < size; column++)
            {
                int pixel = (row * size) + column;
                bool differs = (column + 1 < size && Differ(triangles[pixel], triangles[pixel + 1], materials))
                    || (row + 1 < size && Differ(triangles[pixel], triangles[pixel + size], materials));
                border[pixel] = differs ? 1 : 0;
            }
        }
    }

    private static bool Differ(int triangle, int neighbour, ReadOnlySpan<int> materials) =>
        triangle != VisibilityBuffer.Background
        && neighbour != VisibilityBuffer.Background
        && materials[triangle] != materials[neighbour];
}
