using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// Joints inside the head. They don't ride on the warp of the skin, which misplaces eye centres by a tenth of the
/// interocular distance, but keep their offset to the fit of their own part, in that part's size.
/// </summary>
internal sealed class InnerJoints
{
    private static readonly string[] HingeLandmarks = ["tragion", "exocanthion", "gonion"];
    private static readonly string[] MouthLandmarks = ["cheilion", "stomion", "subnasale", "labiale_superius", "labiale_inferius"];
    private static readonly string[] LowerMouthLandmarks = ["cheilion", "stomion", "labiale_inferius", "sublabiale", "pogonion"];

    private readonly HeadWarp _warp;
    private readonly Dictionary<Ride, SimilarityTransform> _parts = [];
    private readonly Dictionary<Ride, JointState> _states = [];

    /// <summary>Fits every part.</summary>
    public InnerJoints(PreparedTemplate prepared, HeadWarp warp, HeadEvidence evidence)
    {
        _warp = warp;
        TemplateHead template = prepared.Head;
        _parts[Ride.EyeballLeft] = Eye(prepared, "eye_centre_left", evidence.EyeballLeft, evidence);
        _parts[Ride.EyeballRight] = Eye(prepared, "eye_centre_right", evidence.EyeballRight, evidence);
        _parts[Ride.Eyes] = BothEyes(template, evidence.EyeballLeft.Centre, evidence.EyeballRight.Centre);
        _states[Ride.EyeballLeft] = evidence.EyeballLeft.IsModelled ? JointState.Modelled : JointState.Inferred;
        _states[Ride.EyeballRight] = evidence.EyeballRight.IsModelled ? JointState.Modelled : JointState.Inferred;
        _states[Ride.Eyes] = evidence.EyeballLeft.IsModelled && evidence.EyeballRight.IsModelled ? JointState.Modelled : JointState.Inferred;
        _parts[Ride.JawHinge] = LandmarkFit(template, evidence, HingeLandmarks);
        _parts[Ride.TeethUpper] = LandmarkFit(template, evidence, MouthLandmarks);
        _parts[Ride.Tongue] = _parts[Ride.TeethUpper];
        _parts[Ride.TeethLower] = LandmarkFit(template, evidence, LowerMouthLandmarks);
    }

    /// <summary>Places one joint.</summary>
    public JointPlacement Place(ControlJoint joint, double localSize)
    {
        bool byPart = _parts.TryGetValue(joint.Ride, out SimilarityTransform? part);
        return new JointPlacement
        {
            Joint = joint,
            Position = byPart ? part!.Apply(joint.Position) : _warp.Apply(joint.Position),
            Rotation = joint.Rotation,
            State = _states.GetValueOrDefault(joint.Ride, JointState.Inferred),
            LocalSize = byPart ? part!.Scale : localSize,
            Lift = 0,
            Radius90 = 0,
        };
    }

    private static SimilarityTransform Eye(PreparedTemplate template, string landmark, Eyeball eyeball, HeadEvidence evidence)
    {
        double scale = eyeball.Radius / template.EyeballRadius;
        Matrix3d rotation = evidence.AtlasToHead.Rotation;
        return new(scale, rotation, eyeball.Centre - ((rotation * template.Head.Landmarks[landmark]) * scale));
    }

    /// <summary>
    /// From the template to a head by the centres of its eyes. What lies far ahead would magnify any tilt of a fitted
    /// rotation, so the head's own axes count.
    /// </summary>
    /// <param name="template">The template.</param>
    /// <param name="leftEye">Centre of the left eye, head frame.</param>
    /// <param name="rightEye">Centre of the right eye, head frame.</param>
    public static SimilarityTransform BothEyes(TemplateHead template, Vector3d leftEye, Vector3d rightEye)
    {
        Vector3d left = template.Landmarks["eye_centre_left"], right = template.Landmarks["eye_centre_right"];
        double scale = Vector3d.Distance(leftEye, rightEye) / Vector3d.Distance(left, right);
        return new(scale, Matrix3d.Identity, ((leftEye + rightEye) * 0.5) - ((left + right) * (0.5 * scale)));
    }

    // Similarity of the named landmarks, both sides; the whole head's when fewer than three are known.
    private static SimilarityTransform LandmarkFit(TemplateHead template, HeadEvidence evidence, string[] names)
    {
        var sources = new List<Vector3d>();
        var targets = new List<Vector3d>();
        var weights = new List<double>();
        foreach (Landmark l in evidence.Landmarks)
        {
            if (Array.Exists(names, n => l.Name == n || l.Name == n + "_left" || l.Name == n + "_right")
                && template.Landmarks.TryGetValue(l.Name, out Vector3d atlas))
            {
                sources.Add(atlas);
                targets.Add(l.Position);
                weights.Add(1 / l.Covariance.Trace);
            }
        }

        return sources.Count >= 3
            ? ProcrustesAlignment.Align([.. sources], [.. targets], [.. weights])
            : evidence.AtlasToHead;
    }
}
