using AutoPlace.Conditioning;
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
public sealed record Landmark(string Name, Vector3d Position, Matrix3d Covariance, double Presence, LandmarkSource Source)
{
    /// <summary>The same landmark in another head frame of the same file.</summary>
    /// <param name="from">Frame that it is in.</param>
    /// <param name="to">Frame to give it in.</param>
    public Landmark Reframed(HeadFrame from, HeadFrame to)
    {
        ArgumentNullException.ThrowIfNull(from);
        ArgumentNullException.ThrowIfNull(to);
        double scale = from.InterocularDistance / to.InterocularDistance;
        var axes = Matrix3d.FromColumns(from.Left, from.Up, from.Front);
        Matrix3d turn = new Matrix3d(to.Left, to.Up, to.Front) * axes * scale;
        return this with
        {
            Position = to.ToHead(from.ToFile(Position)),
            Covariance = turn * Covariance * turn.Transposed(),
        };
    }
}
