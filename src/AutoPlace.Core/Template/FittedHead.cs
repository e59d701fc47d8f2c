using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>The place on the skin nearest to a point.</summary>
/// <param name="Point">The place.</param>
/// <param name="Normal">Outward unit normal there.</param>
/// <param name="Lift">Signed distance of the point from it, positive outside.</param>
internal readonly record struct SkinFoot(Vector3d Point, Vector3d Normal, double Lift);

/// <summary>An eyeball of the head that a rig was fitted to.</summary>
/// <param name="Centre">Its centre.</param>
/// <param name="Radius">Its radius.</param>
internal readonly record struct FittedEye(Vector3d Centre, double Radius);

/// <summary>What is known of the head that a rig was fitted to; head frame, interocular distances.</summary>
internal sealed record FittedHead
{
    /// <summary>The nearest place on the skin.</summary>
    public required Func<Vector3d, SkinFoot> Skin { get; init; }

    /// <summary>From the head to the atlas.</summary>
    public required Func<Vector3d, Vector3d> ToAtlas { get; init; }

    /// <summary>The same by teeth and tongue themselves, for those that the head has.</summary>
    public required IReadOnlyDictionary<Ride, SimilarityTransform> MouthToAtlas { get; init; }

    /// <summary>The left eyeball.</summary>
    public required FittedEye EyeLeft { get; init; }

    /// <summary>The right eyeball.</summary>
    public required FittedEye EyeRight { get; init; }

    /// <summary>The template that was shaped after the atlas, whose joints and parts say what lies where.</summary>
    public required TemplateHead Atlas { get; init; }
}
