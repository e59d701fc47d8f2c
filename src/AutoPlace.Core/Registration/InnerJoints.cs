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
    private readonly PreparedTemplate _prepared;
    private readonly HeadWarp _warp;
    private readonly HingeFit? _hinge;
    private readonly Dictionary<Ride, SimilarityTransform> _parts = [];
    private readonly Dictionary<Ride, JointState> _states = [];

    /// <summary>Fits every part.</summary>
    public InnerJoints(PreparedTemplate prepared, HeadRegistration head)
    {
        (TemplateHead template, HeadWarp warp, HeadEvidence evidence, MouthFit mouth) = (prepared.Head, head.Warp, head.Evidence, head.Mouth);
        (_prepared, _warp) = (prepared, warp);
        _hinge = template.Lattice.Joints.Any(joint => joint.Ride == Ride.JawHinge) ? new HingeFit(template, head) : null;
        _parts[Ride.EyeballLeft] = Eye(prepared, "eye_centre_left", evidence.EyeballLeft, evidence);
        _parts[Ride.EyeballRight] = Eye(prepared, "eye_centre_right", evidence.EyeballRight, evidence);
        _parts[Ride.Eyes] = BothEyes(template, evidence.EyeballLeft.Centre, evidence.EyeballRight.Centre, Ahead(evidence.AtlasToHead.Rotation));
        _states[Ride.EyeballLeft] = evidence.EyeballLeft.IsModelled ? JointState.Modelled : JointState.Inferred;
        _states[Ride.EyeballRight] = evidence.EyeballRight.IsModelled ? JointState.Modelled : JointState.Inferred;
        _states[Ride.Eyes] = evidence.EyeballLeft.IsModelled && evidence.EyeballRight.IsModelled ? JointState.Modelled : JointState.Inferred;
        if (template.Lattice.Joints.Any(joint => MouthFit.Rides.Contains(joint.Ride)))
        {
            foreach ((Ride ride, (SimilarityTransform similarity, JointState state)) in mouth.Of(prepared))
            {
                (_parts[ride], _states[ride]) = (similarity, state);
            }
        }
    }

    /// <summary>Places one joint.</summary>
    public JointPlacement Place(ControlJoint joint, double localSize)
    {
        (double size, Vector3d position) = joint.Ride == Ride.JawHinge ? _hinge!.Place(joint.Position)
            : _parts.TryGetValue(joint.Ride, out SimilarityTransform? part) ? (part.Scale, part.Apply(joint.Position))
            : (localSize, _warp.ApplyOnLip(joint.Position, _prepared.LipOf(joint)));
        return new JointPlacement
        {
            Joint = joint,
            Position = position,
            Rotation = joint.Rotation,
            State = _states.GetValueOrDefault(joint.Ride, JointState.Inferred),
            LocalSize = size,
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

    /// <summary>From the template to a head by the centres of its eyes and the direction that they look in at rest.</summary>
    /// <param name="template">The template.</param>
    /// <param name="leftEye">Centre of the left eye, head frame.</param>
    /// <param name="rightEye">Centre of the right eye, head frame.</param>
    /// <param name="ahead">Unit direction in the midsagittal plane, head frame.</param>
    public static SimilarityTransform BothEyes(TemplateHead template, Vector3d leftEye, Vector3d rightEye, Vector3d ahead)
    {
        Vector3d left = template.Landmarks["eye_centre_left"], right = template.Landmarks["eye_centre_right"];
        double scale = Vector3d.Distance(leftEye, rightEye) / Vector3d.Distance(left, right);
        var rotation = Matrix3d.FromColumns(Vector3d.UnitX, Vector3d.Cross(ahead, Vector3d.UnitX), ahead);
        return new(scale, rotation, ((leftEye + rightEye) * 0.5) - (rotation * ((left + right) * (0.5 * scale))));
    }

    // Where the face looks, by its own shape and not by the file's axes, so that a head turned in its file keeps its gaze.
    // Only the pitch is taken: sideways, the midsagittal plane knows better.
    private static Vector3d Ahead(Matrix3d atlasToHead) => ((atlasToHead * Vector3d.UnitZ) with { X = 0 }).Normalized();
}
