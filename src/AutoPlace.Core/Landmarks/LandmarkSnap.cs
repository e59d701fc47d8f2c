using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>Puts landmarks of the skin onto the skin.</summary>
public static class LandmarkSnap
{
    /// <summary>How far a landmark is drawn at most, interocular distances; farther ones stay where the views saw them.</summary>
    private const float Reach = 0.15f;

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
            return near.IsFound ? l with { Position = near.Position } : l;
        })];
    }
}
