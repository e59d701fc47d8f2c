using AutoPlace.Conditioning;
using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>Landmarks in space from what several views see of them.</summary>
public static class LandmarkCombination
{
    /// <summary>Presence below which a landmark counts as not seen.</summary>
    public const double LeastPresence = 0.35;

    /// <summary>Presence from which down a guess is worth no less.</summary>
    private const double LeastSay = 0.02;

    /// <summary>Where on a head a landmark may be before anything is seen: the middle of the face and its extent, interocular distances.</summary>
    private static readonly Vector3d Middle = new(0, -0.6, 0.2);

    private const double Extent = 1;

    /// <summary>Combines the views' predictions.</summary>
    /// <param name="frame">Frame to give the landmarks in; the views' own.</param>
    /// <param name="fileMesh">The mesh that the views show, file coordinates.</param>
    /// <param name="observations">The views.</param>
    /// <returns>One landmark for each name, in the network's order; those that no view shows are marked as inferred.</returns>
    public static IReadOnlyList<Landmark> Combine(HeadFrame frame, TriangleMesh fileMesh, IReadOnlyList<ViewObservation> observations)
    {
        ArgumentNullException.ThrowIfNull(observations);
        var landmarks = new Landmark[LandmarkNames.All.Count];
        var seen = new LandmarkObservation[observations.Count];
        for (int i = 0; i < landmarks.Length; i++)
        {
            string name = LandmarkNames.All[i];
            double presence = 0;
            for (int v = 0; v < seen.Length; v++)
            {
                ViewObservation o = observations[v];
                LandmarkPrediction p = o.Prediction.Landmarks[i];
                presence = Math.Max(presence, p.Presence);

                // A view that hides the landmark still has a say, a quiet one.
                double weight = 0.1 + (0.9 * p.Presence);
                TangentPlane? surface = IsOnSkin(name) && p.Presence > 0.5
                    ? ViewCorrespondences.SurfaceAt(frame, fileMesh, o, p.X, p.Y)?.Plane
                    : null;
                seen[v] = new LandmarkObservation(o.HeadView, p.X, p.Y, p.Sigma, weight, surface);
            }

            // What the network says of a landmark that hardly shows is a guess: the views' scales are those of what shows.
            (Vector3d position, Matrix3d covariance) = LandmarkTriangulation.Combine(seen, Middle, Extent);
            landmarks[i] = new Landmark(
                name, position, covariance * (1 / Math.Max(presence, LeastSay)), presence, presence >= LeastPresence ? LandmarkSource.Network : LandmarkSource.Inferred);
        }

        return landmarks;
    }

    /// <summary>False for the eye centres, which lie inside the head.</summary>
    public static bool IsOnSkin(string name)
    {
        ArgumentNullException.ThrowIfNull(name);
        return !name.StartsWith("eye_centre", StringComparison.Ordinal);
    }
}
