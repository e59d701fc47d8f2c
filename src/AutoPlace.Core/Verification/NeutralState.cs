using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>
/// How far a face is from the neutral one of MPEG-4 (ISO/IEC 14496-2: gaze ahead, teeth touching, mouth closed, lids tangent
/// to the iris), as the built-in template models it. What can't be told is left out.
/// </summary>
public static class NeutralState
{
    /// <summary>Turn of the lower jaw about the line between the ears, degrees, positive when open: by the teeth where both rows are modelled, else by the lips, so that a jaw lowered behind closed lips counts as closed.</summary>
    public const string JawAngleDegrees = "jawAngleDegrees";

    /// <summary>Distance between the lips' contact lines in the middle, in widths of the mouth.</summary>
    public const string LipGapMouthWidths = "lipGapMouthWidths";

    /// <summary>How far the left lids are open: 0 closed, 1 as in the neutral face or farther.</summary>
    public const string LidApertureLeft = "lidApertureLeft";

    /// <summary>How far the right lids are open.</summary>
    public const string LidApertureRight = "lidApertureRight";

    /// <summary>Turn of the left eye's gaze from straight ahead in the head frame, degrees, positive to the subject's left. Gaze is known where the mesh has a cornea or an iris.</summary>
    public const string GazeLeftYawDegrees = "gazeLeftYawDegrees";

    /// <summary>Angle of the left eye's gaze with the head frame's horizontal plane, degrees, positive up.</summary>
    public const string GazeLeftPitchDegrees = "gazeLeftPitchDegrees";

    /// <summary>The same turn of the right eye, positive to the subject's left, too.</summary>
    public const string GazeRightYawDegrees = "gazeRightYawDegrees";

    /// <summary>The same angle of the right eye.</summary>
    public const string GazeRightPitchDegrees = "gazeRightPitchDegrees";

    /// <summary>Measures a face.</summary>
    /// <param name="landmarks">Its landmarks, head frame.</param>
    /// <param name="gaze">Where its eyes look, unit vectors in the head frame; null where that isn't known.</param>
    /// <param name="mouth">The template's teeth on this head; null where they weren't looked for.</param>
    /// <param name="template">The built-in template.</param>
    /// <returns>Values by the names above.</returns>
    public static IReadOnlyDictionary<string, double> Of(
        IReadOnlyList<Landmark> landmarks, (Vector3d? Left, Vector3d? Right) gaze, MouthFit? mouth, PreparedTemplate template)
    {
        ArgumentNullException.ThrowIfNull(template);
        var head = new Face(landmarks.Where(l => l.Source != LandmarkSource.Inferred).ToDictionary(l => l.Name, l => l.Position, StringComparer.Ordinal));
        var own = new Face(template.Head.Landmarks);
        var state = new Dictionary<string, double>(StringComparer.Ordinal);
        Add(LipGapMouthWidths, head.LipGap - own.LipGap, least: 0);
        Add(JawAngleDegrees, (mouth is null ? null : ByTeeth(mouth, template, head.Ears)) ?? (head.LipAngle - own.LipAngle));
        Add(LidApertureLeft, head.FissureRatio("left") / own.FissureRatio("left"), 0, 1);
        Add(LidApertureRight, head.FissureRatio("right") / own.FissureRatio("right"), 0, 1);
        Add(GazeLeftYawDegrees, Yaw(gaze.Left));
        Add(GazeLeftPitchDegrees, Pitch(gaze.Left));
        Add(GazeRightYawDegrees, Yaw(gaze.Right));
        Add(GazeRightPitchDegrees, Pitch(gaze.Right));
        return state;

        void Add(string name, double? value, double least = double.NegativeInfinity, double most = double.PositiveInfinity)
        {
            if (value is { } known)
            {
                state.Add(name, Math.Clamp(known, least, most));
            }
        }
    }

    private static double? Yaw(Vector3d? gaze) => gaze is { } g ? double.RadiansToDegrees(Math.Atan2(g.X, g.Z)) : null;

    private static double? Pitch(Vector3d? gaze) => gaze is { } g ? double.RadiansToDegrees(Math.Asin(Math.Clamp(g.Y, -1, 1))) : null;

    // Between where the lower incisors are and where they would be if they hung on the upper teeth.
    private static double? ByTeeth(MouthFit mouth, PreparedTemplate template, Vector3d? ears)
    {
        ControlJoint? incisor = template.Head.Lattice.Joints.Where(j => j.Ride == Ride.TeethLower).MaxBy(j => j.Position.Z);
        IReadOnlyDictionary<Ride, (SimilarityTransform Similarity, JointState State)> parts = mouth.Of(template);
        (SimilarityTransform upper, JointState upperState) = parts[Ride.TeethUpper];
        (SimilarityTransform lower, JointState lowerState) = parts[Ride.TeethLower];
        return incisor is null || ears is null || upperState != JointState.Modelled || lowerState != JointState.Modelled
            ? null
            : Degrees(ears.Value, upper.Apply(incisor.Position), lower.Apply(incisor.Position));
    }

    // From one point down to another about the axis to the left through a centre before which they lie.
    private static double Degrees(Vector3d centre, Vector3d above, Vector3d below)
    {
        (Vector3d a, Vector3d b) = (above - centre, below - centre);
        return double.RadiansToDegrees(Math.Atan2(a.Y, a.Z) - Math.Atan2(b.Y, b.Z));
    }

    // Landmarks of a face, as far as they are known.
    private sealed record Face(IReadOnlyDictionary<string, Vector3d> Landmarks)
    {
        public Vector3d? Ears => (this["tragion_left"] + this["tragion_right"]) * 0.5;

        public double? LipGap => Distance(this["lip_contact_upper"], this["lip_contact_lower"]) / Distance(this["cheilion_left"], this["cheilion_right"]);

        public double? LipAngle => Ears is { } ears && this["lip_contact_upper"] is { } upper && this["lip_contact_lower"] is { } lower
            ? Degrees(ears, upper, lower)
            : null;

        private Vector3d? this[string name] => Landmarks.TryGetValue(name, out Vector3d position) ? position : null;

        // Mean distance of the lids from each other over the width of the fissure.
        public double? FissureRatio(string side) =>
            0.5 * (Distance(this[$"lid_upper_medial_{side}"], this[$"lid_lower_medial_{side}"]) + Distance(this[$"lid_upper_lateral_{side}"], this[$"lid_lower_lateral_{side}"]))
                / Distance(this[$"endocanthion_{side}"], this[$"exocanthion_{side}"]);

        private static double? Distance(Vector3d? a, Vector3d? b) => (a - b)?.Length;
    }
}
