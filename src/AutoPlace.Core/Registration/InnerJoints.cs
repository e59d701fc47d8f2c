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
    /// <summary>Skin this near to a condyle has most of the say where it is, interocular distances.</summary>
    private const double AroundCondyle = 0.4;

    /// <summary>Joints of the hinge this near to the midline hang on both condyles, interocular distances.</summary>
    private const double Midline = 0.1;

    /// <summary>Standard deviation at which skin is as much guessed as seen, interocular distances.</summary>
    private const double HalfSeen = 0.05;

    private static readonly string[] HingeLandmarks = ["tragion", "exocanthion", "gonion"];

    private readonly SimilarityTransform _hinge;
    private readonly Vector3d[] _skin;
    private readonly Vector3d[] _skinOnHead;
    private readonly double[] _seen;
    private readonly TemplateHead _template;
    private readonly HeadWarp _warp;
    private readonly Dictionary<Ride, SimilarityTransform> _parts = [];
    private readonly Dictionary<Ride, JointState> _states = [];

    /// <summary>Fits every part.</summary>
    public InnerJoints(PreparedTemplate prepared, HeadRegistration head)
    {
        (TemplateHead template, HeadWarp warp, HeadEvidence evidence, MouthFit mouth) = (prepared.Head, head.Warp, head.Evidence, head.Mouth);
        (_template, _warp) = (template, warp);
        _parts[Ride.EyeballLeft] = Eye(prepared, "eye_centre_left", evidence.EyeballLeft, evidence);
        _parts[Ride.EyeballRight] = Eye(prepared, "eye_centre_right", evidence.EyeballRight, evidence);
        _parts[Ride.Eyes] = BothEyes(template, evidence.EyeballLeft.Centre, evidence.EyeballRight.Centre, Ahead(evidence.AtlasToHead.Rotation));
        _states[Ride.EyeballLeft] = evidence.EyeballLeft.IsModelled ? JointState.Modelled : JointState.Inferred;
        _states[Ride.EyeballRight] = evidence.EyeballRight.IsModelled ? JointState.Modelled : JointState.Inferred;
        _states[Ride.Eyes] = evidence.EyeballLeft.IsModelled && evidence.EyeballRight.IsModelled ? JointState.Modelled : JointState.Inferred;
        _hinge = MouthFit.ByLandmarks(template.Landmarks, evidence.Landmarks, HingeLandmarks) ?? evidence.AtlasToHead;
        _skin = [.. head.Controls.Select(control => control.Atlas)];
        _seen = [.. head.Controls.Select(control => 1 / (1 + (control.Variance / (HalfSeen * HalfSeen))))];
        _skinOnHead = new Vector3d[_skin.Length];
        Parallel.For(0, _skin.Length, i => _skinOnHead[i] = warp.Apply(_skin[i]));
        if (template.Lattice.Joints.Any(joint => MouthFit.Rides.Contains(joint.Ride)))
        {
            foreach (Ride ride in MouthFit.Rides)
            {
                (_parts[ride], _states[ride]) = mouth.Of(ride, prepared);
            }
        }
    }

    /// <summary>Places one joint.</summary>
    public JointPlacement Place(ControlJoint joint, double localSize)
    {
        (double size, Vector3d position) = joint.Ride == Ride.JawHinge ? OfHinge(joint.Position)
            : _parts.TryGetValue(joint.Ride, out SimilarityTransform? part) ? (part.Scale, part.Apply(joint.Position))
            : (localSize, _warp.Apply(joint.Position));
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

    /// <summary>How much points of the skin say about a joint of the jaw's hinge: the bone is under them, on one side, or on both for a joint on the midline.</summary>
    /// <param name="template">The template.</param>
    /// <param name="skin">N points of its skin.</param>
    /// <param name="joint">The joint's place on it.</param>
    public static double[] HingeWeights(TemplateHead template, Vector3d[] skin, Vector3d joint)
    {
        double condyle = template.Landmarks["tragion_left"].X * JawHingeRule.CondylarToBitragal;
        Vector3d left = joint with { X = Math.Max(Math.Abs(joint.X), condyle) }, right = left with { X = -left.X };
        return Array.ConvertAll(skin, p => (joint.X > -Midline ? Near(p, left) : 0) + (joint.X < Midline ? Near(p, right) : 0));

        static double Near(Vector3d p, Vector3d centre) => Math.Exp(-(p - centre).LengthSquared / (2 * AroundCondyle * AroundCondyle));
    }

    // By the skin as far as it is seen there, under hair and hats by the landmarks of both sides.
    private (double Size, Vector3d Position) OfHinge(Vector3d joint)
    {
        double[] weights = HingeWeights(_template, _skin, joint);
        (SimilarityTransform similarity, Vector3d place) = LocalMap.Carry(_skin, _skinOnHead, weights, joint);
        double seen = weights.Zip(_seen, (weight, share) => weight * share).Sum() / weights.Sum();
        return (double.Lerp(_hinge.Scale, similarity.Scale, seen), Vector3d.Lerp(_hinge.Apply(joint), place, seen));
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
