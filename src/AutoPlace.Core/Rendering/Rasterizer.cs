using System.Buffers;
using System.Runtime.Intrinsics;
using AutoPlace.Geometry;

namespace AutoPlace.Rendering;

/// <summary>
/// Deterministic software rasteriser for orthographic views (edge functions after Pineda 1988). Vertices are snapped
/// to 1/256 pixel, so which pixels a triangle covers is exact integer arithmetic, whatever the vector width; two
/// triangles that share an edge cover each pixel of it exactly once.
/// </summary>
/// <remarks>
/// The nearest triangle wins a pixel. At exactly equal depth the one with the larger weight of its second corner there
/// wins, then of its third: neither depends on the order of the triangles. Only triangles that agree in all three, such
/// as copies, are told apart by order; the one drawn first stays.
/// </remarks>
public static partial class Rasterizer
{
    /// <summary>
    /// Draws all triangles, front and back faces alike, on top of what the buffer holds. Allocates nothing once the
    /// shared pool holds a projection of this size.
    /// </summary>
    /// <param name="mesh">The mesh, in the view's frame.</param>
    /// <param name="view">The view; its size must be the buffer's.</param>
    /// <param name="buffer">Receives what is seen; not cleared first.</param>
    /// <exception cref="ArgumentException">View and buffer differ in size.</exception>
    public static void Rasterize(TriangleMesh mesh, in OrthographicView view, VisibilityBuffer buffer)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        ArgumentNullException.ThrowIfNull(buffer);
        if (view.Size != buffer.Size)
        {
            throw new ArgumentException($"The view has {view.Size} pixels a side, the buffer {buffer.Size}.", nameof(buffer));
        }

        RasterVertex[] rented = ArrayPool<RasterVertex>.Shared.Rent(mesh.VertexCount);
        Span<RasterVertex> vertices = rented.AsSpan(0, mesh.VertexCount);
        RasterVertex.Project(mesh.Positions, view, vertices);
        if (Vector128.IsHardwareAccelerated && buffer.Size >= LaneCount)
        {
            DrawWide(mesh.Indices, vertices, buffer);
        }
        else
        {
            DrawScalar(mesh.Indices, vertices, buffer);
        }

        ArrayPool<RasterVertex>.Shared.Return(rented);
    }

    /// <summary>
    /// Draws a mesh in several views, each into its own buffer, which is cleared first; views are drawn side by side.
    /// The result doesn't depend on the number of threads.
    /// </summary>
    /// <param name="mesh">The mesh, in the views' frame.</param>
    /// <param name="views">The views.</param>
    /// <param name="buffers">One buffer for each view, of the view's size.</param>
    /// <param name="threads">Most threads to use at once; 0 leaves it to the runtime.</param>
    /// <param name="cancellationToken">Checked before each view.</param>
    /// <exception cref="ArgumentException">Numbers of views and buffers differ, or a view and its buffer differ in size.</exception>
    /// <exception cref="OperationCanceledException">The token was cancelled.</exception>
    public static void RasterizeAll(
        TriangleMesh mesh,
        IReadOnlyList<OrthographicView> views,
        IReadOnlyList<VisibilityBuffer> buffers,
        int threads = 0,
        CancellationToken cancellationToken = default)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        ArgumentNullException.ThrowIfNull(views);
        ArgumentNullException.ThrowIfNull(buffers);
        ArgumentOutOfRangeException.ThrowIfNegative(threads);
        if (views.Count != buffers.Count)
        {
            throw new ArgumentException($"{buffers.Count} buffers for {views.Count} views.", nameof(buffers));
        }

        for (int i = 0; i < views.Count; i++)
        {
            if (views[i].Size != buffers[i].Size)
            {
                throw new ArgumentException(
                    $"View {i} has {views[i].Size} pixels a side, its buffer {buffers[i].Size}.", nameof(buffers));
            }
        }

        var options = new ParallelOptions
        {
            MaxDegreeOfParallelism = threads == 0 ? -1 : threads,
            CancellationToken = cancellationToken,
        };
        Parallel.For(0, views.Count, options, i =>
        {
            buffers[i].Clear();
            Rasterize(mesh, views[i], buffers[i]);
        });
    }
}
