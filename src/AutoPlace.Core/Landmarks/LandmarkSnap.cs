using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>Puts landmarks of the skin onto the skin.</summary>
public static class LandmarkSnap
{
    /// <summary>How far a landmark is drawn at most, interocular distances; farther ones stay where the views saw them.</summary>
    private const float Reach = 0.15f;

    /// <summary>
    /// ... and how far in standard deviations of its own (90 % of normal errors). What was surely seen elsewhere isn't on this
    /// skin: a brow under a fringe, the middle of an open mouth.
    /// </summary>
    private const double MostDeviations = 2.5;

    /// <summary>Landmarks with those of the skin moved to its nearest point.</summary>
    /// <param name="landmarks">Landmarks, head frame.</param>
    /// <param name="skin">The outer skin, head frame.</param>
    public static IReadOnlyList<Landmark> ToSkin(IReadOnlyList<Landmark> landmarks, BoundingVolumeHierarchy skin)
    {
        ArgumentNullException.ThrowIfNull(landmarks);
        ArgumentNullException.ThrowIfNull(skin);
        return [.. landmarks.Select(l =>
        {
            if (!LandmarkCombination.IsOnSkin(l.Name))
            {
                return l;
            }

            SurfaceProximity near = skin.ClosestPoint((Vector3)l.Position, Reach);
            return near.IsFound && Deviations(l, near.Position) <= MostDeviations ? l with { Position = near.Position } : l;
        })];
    }

    // Mahalanobis distance.
    private static double Deviations(Landmark landmark, Vector3d position)
    {
        Vector3d apart = position - landmark.Position;
        return Math.Sqrt(Vector3d.Dot(apart, landmark.Covariance.Inverse() * apart));
    }
}
