using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>Where a landmark's position comes from.</summary>
public enum LandmarkSource
{
    /// <summary>The landmark network.</summary>
    Network,

    /// <summary>A sphere or ellipsoid fitted to the sclera.</summary>
    SphereFit,

    /// <summary>Fixed by a person.</summary>
    Lock,

    /// <summary>Not seen; taken from the other landmarks.</summary>
    Inferred,
}

/// <summary>An anthropometric point found on a head.</summary>
/// <param name="Name">Anthropometric name (see <see cref="LandmarkNames"/>).</param>
/// <param name="Position">Position in the head frame, interocular distances.</param>
/// <param name="Covariance">3 x 3 covariance of the position, squared interocular distances.</param>
/// <param name="Presence">Probability in [0, 1] that the head has the feature.</param>
/// <param name="Source">Where the position comes from.</param>
public sealed record Landmark(string Name, Vector3d Position, Matrix3d Covariance, double Presence, LandmarkSource Source);
