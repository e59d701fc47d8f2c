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
        var result = new List<Correspondence>();
        foreach (ViewObservation o in observations)
        {
            DenseMap map = o.Prediction.Dense;
            for (int cell = 0; cell < map.Size * map.Size; cell++)
            {
                float skin = map.ClassProbability(cell, SurfaceClass.HeadSkin);
                float eye = map.ClassProbability(cell, SurfaceClass.Eyeball);
                if (skin + eye >= LeastProbability
                    && map.Sigma[cell] <= MostSigma
                    && Surface(frame, fileMesh, o, cell) is { } at)
                {
                    double sigma = map.Sigma[cell] / Math.Sqrt(skin + eye);
                    result.Add(new Correspondence(at.Point, at.Normal, map.Atlas[cell], sigma, eye > skin));
                }
            }
        }

        return result;
    }

    // The surface at a cell's centre, the corner that four pixels share: mean of the four, or nothing where they
    // don't belong to one surface.
    private static TangentPlane? Surface(HeadFrame frame, TriangleMesh mesh, ViewObservation o, int cell)
    {
        int size = o.Buffer.Size;
        int step = size / o.Prediction.Dense.Size;
        int x = ((cell % o.Prediction.Dense.Size) * step) + (step / 2);
        int y = ((cell / o.Prediction.Dense.Size) * step) + (step / 2);
        ReadOnlySpan<int> pixels = [((y - 1) * size) + x - 1, ((y - 1) * size) + x, (y * size) + x - 1, (y * size) + x];
        (float low, float high, float sum) = (float.PositiveInfinity, float.NegativeInfinity, 0);
        Vector3 normal = default;
        foreach (int pixel in pixels)
        {
            if (o.Buffer.Triangles[pixel] == VisibilityBuffer.Background)
            {
                return null;
            }

            float z = o.Buffer.Z[pixel];
            (low, high, sum) = (Math.Min(low, z), Math.Max(high, z), sum + z);
            normal += TriangleNormal(mesh, o.Buffer.Triangles[pixel], o.FileView.Toward);
        }

        if (high - low > MostDepthRange * frame.InterocularDistance)
        {
            return null;
        }

        Vector3d point = frame.ToHead((Vector3d)o.FileView.Unproject(x, y, sum / 4));
        return new TangentPlane(point, frame.DirectionToHead(normal).Normalized());
    }

    /// <summary>The surface at a continuous pixel of a view, head frame; null where the view shows none.</summary>
    internal static TangentPlane? SurfaceAt(HeadFrame frame, TriangleMesh mesh, ViewObservation o, double pixelX, double pixelY)
    {
        int x = (int)Math.Floor(pixelX), y = (int)Math.Floor(pixelY);
        if (x < 0 || y < 0 || x >= o.Buffer.Size || y >= o.Buffer.Size)
        {
            return null;
        }

        int pixel = (y * o.Buffer.Size) + x;
        int triangle = o.Buffer.Triangles[pixel];
        if (triangle == VisibilityBuffer.Background)
        {
            return null;
        }

        Vector3d point = frame.ToHead((Vector3d)o.FileView.Unproject(x + 0.5f, y + 0.5f, o.Buffer.Z[pixel]));
        return new TangentPlane(point, frame.DirectionToHead(TriangleNormal(mesh, triangle, o.FileView.Toward)).Normalized());
    }

    private static Vector3 TriangleNormal(TriangleMesh mesh, int triangle, Vector3 toward)
    {
        (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(triangle);
        var n = Vector3.Cross(b - a, c - a);
        float length = n.Length();
        return length > 0 ? n * (MathF.CopySign(1, Vector3.Dot(n, toward)) / length) : toward;
    }
}
