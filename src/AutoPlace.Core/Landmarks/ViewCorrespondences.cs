using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Rendering;

namespace AutoPlace.Landmarks;

/// <summary>Correspondences in space from the dense maps of views.</summary>
public static class ViewCorrespondences
{
    /// <summary>Cells below this probability of skin or eyeball say nothing.</summary>
    private const float LeastProbability = 0.5f;

    /// <summary>Depth range within a cell above which it straddles an edge, interocular distances.</summary>
    private const float MostDepthRange = 0.12f;

    /// <summary>Correspondences less certain than this are left out, interocular distances.</summary>
    private const float MostSigma = 0.5f;

    /// <summary>All correspondences that the views show.</summary>
    /// <param name="frame">Frame to give the points in.</param>
    /// <param name="fileMesh">The mesh that the views show, file coordinates.</param>
    /// <param name="observations">The views.</param>
    public static List<Correspondence> Of(HeadFrame frame, TriangleMesh fileMesh, IReadOnlyList<ViewObservation> observations)
    {
        ArgumentNullException.ThrowIfNull(frame);
        ArgumentNullException.ThrowIfNull(fileMesh);
        ArgumentNullException.ThrowIfNull(observations);
        // One view after the other on each core; what one gives doesn't depend on the others.
        var byView = new List<Correspondence>[observations.Count];
        Parallel.For(0, byView.Length, v => byView[v] = Of(frame, fileMesh, observations[v]));
        return [.. byView.SelectMany(c => c)];
    }

    private static List<Correspondence> Of(HeadFrame frame, TriangleMesh fileMesh, ViewObservation o)
    {
        var result = new List<Correspondence>();
        DenseMap map = o.Prediction.Dense;
        for (int cell = 0; cell < map.Size * map.Size; cell++)
        {
            float skin = map.ClassProbability(cell, SurfaceClass.HeadSkin);
            float eye = map.ClassProbability(cell, SurfaceClass.Eyeball);
            float known = skin + eye - LeastProbability;
            if (known > 0 && map.Sigma[cell] <= MostSigma
                && SurfaceAt(frame, fileMesh, o, CellCentre(map, o, cell % map.Size), CellCentre(map, o, cell / map.Size)) is { } at)
            {
                // Weights fall to nothing where a correspondence would be dropped, so that rounding can't switch one.
                double weight = known / (1 - LeastProbability) * at.Unity;
                double sigma = map.Sigma[cell] / Math.Sqrt(Math.Max(weight, 1e-6));
                result.Add(new Correspondence(at.Plane.Point, at.Plane.Normal, map.Atlas[cell], sigma, eye > skin));
            }
        }

        return result;
    }

    /// <summary>The surface that a view shows at a continuous pixel, interpolated between the four pixels around it.</summary>
    /// <param name="frame">Frame to give it in.</param>
    /// <param name="mesh">The mesh that the view shows, file coordinates.</param>
    /// <param name="o">The view.</param>
    /// <param name="pixelX">Continuous pixel to the right.</param>
    /// <param name="pixelY">Continuous pixel down.</param>
    /// <returns>
    /// Tangent plane, head frame, and how much the four pixels show one surface: 1 for equal depths, 0 at the depth range
    /// of an edge. Null at an edge, at the background and outside the image.
    /// </returns>
    internal static (TangentPlane Plane, double Unity)? SurfaceAt(
        HeadFrame frame, TriangleMesh mesh, ViewObservation o, double pixelX, double pixelY)
    {
        int size = o.Buffer.Size;
        int x = (int)Math.Floor(pixelX - 0.5), y = (int)Math.Floor(pixelY - 0.5);
        if (x < 0 || y < 0 || x + 1 >= size || y + 1 >= size)
        {
            return null;
        }

        float right = (float)(pixelX - 0.5 - x), down = (float)(pixelY - 0.5 - y);
        (float low, float high, float z) = (float.PositiveInfinity, float.NegativeInfinity, 0);
        Vector3 normal = default;
        for (int corner = 0; corner < 4; corner++)
        {
            int pixel = ((y + (corner >> 1)) * size) + x + (corner & 1);
            int triangle = o.Buffer.Triangles[pixel];
            if (triangle == VisibilityBuffer.Background)
            {
                return null;
            }

            float depth = o.Buffer.Z[pixel];
            float share = ((corner & 1) == 0 ? 1 - right : right) * ((corner >> 1) == 0 ? 1 - down : down);
            (low, high, z) = (Math.Min(low, depth), Math.Max(high, depth), z + (share * depth));
            normal += TriangleNormal(mesh, triangle, o.FileView.Toward) * share;
        }

        double unity = 1 - ((high - low) / (MostDepthRange * frame.InterocularDistance));
        Vector3d point = frame.ToHead((Vector3d)o.FileView.Unproject((float)pixelX, (float)pixelY, z));
        return unity > 0 ? (new TangentPlane(point, frame.DirectionToHead(normal).Normalized()), unity) : null;
    }

    private static double CellCentre(DenseMap map, ViewObservation o, int cell) => (cell + 0.5) * o.Buffer.Size / map.Size;

    private static Vector3 TriangleNormal(TriangleMesh mesh, int triangle, Vector3 toward)
    {
        (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(triangle);
        var n = Vector3.Cross(b - a, c - a);
        float length = n.Length();
        return length > 0 ? n * (MathF.CopySign(1, Vector3.Dot(n, toward)) / length) : toward;
    }
}
