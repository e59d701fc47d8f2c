using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>
/// From the template's head to a puppet's, for any point of space, in atlas coordinates: the smooth change of the
/// whole head, the eyes' own stretch around each eye, then the changes of one side.
/// </summary>
internal sealed class PuppetShape
{
    // Distances from the eye's centre, interocular distances: lids and ball lie within the first, where the eyes' own
    // stretch holds alone; brow and cheek at the second, where it has faded out. Flattening fades sooner, and one-sided
    // changes leave the lids alone.
    private const double LidsEnd = 0.30;
    private const double SocketEnd = 0.75;
    private const double FlatnessEnd = 0.52;

    // Flat eyes lie along the face, turned outward.
    private static readonly Vector3d PlateFront = new(Math.Sin(0.38), 0, Math.Cos(0.38));

    private const double ShiftsBegin = 0.50;

    private readonly ShapeChange _change;
    private readonly EyeShape _eyes;
    private readonly Vector3d _eye;
    private readonly Vector3d _anchor;
    private readonly double _ballRadius;
    private readonly (Vector3d Centre, JointShift Shift)[] _shifts;

    /// <param name="template">The template.</param>
    /// <param name="change">The change of the whole head.</param>
    /// <param name="eyes">The eyes.</param>
    /// <param name="shifts">Changes of one side.</param>
    public PuppetShape(TemplateHead template, ShapeChange change, EyeShape eyes, IReadOnlyList<JointShift> shifts)
    {
        _change = change;
        _eyes = eyes;
        _eye = template.Landmarks["eye_centre_left"];
        _ballRadius = template.FaceParts.Select((part, f) => (part, f)).Where(face => face.part == "eyeball_left")
            .SelectMany(face => template.Mesh.Face(face.f).ToArray()).Min(v => Vector3d.Distance(template.Mesh.Positions[v], _eye));
        _anchor = eyes.Flat ? _eye + (PlateFront * _ballRadius) : _eye;
        Dictionary<string, ControlJoint> joints = template.Lattice.Joints.ToDictionary(joint => joint.Name, StringComparer.Ordinal);
        _shifts = [.. shifts.Select(shift => (Symmetric(joints[shift.Joint].SkinPoint ?? joints[shift.Joint].Position), shift))];
    }

    /// <summary>True when the right side is the left one's mirror image.</summary>
    public bool IsSymmetric => _shifts.Length == 0;

    /// <summary>Centre of the left ball, or of the ball that a flat eye stands for.</summary>
    public Vector3d EyePivot
    {
        get
        {
            Vector3d middle = Symmetric(_eye);
            if (!_eyes.Flat)
            {
                return middle;
            }

            // The stretch turns the plate; its front is a tangent plane at the anchor.
            Vector3d front = new Vector3d(PlateFront.X / _eyes.Size.X, PlateFront.Y / _eyes.Size.Y, PlateFront.Z).Normalized();
            return middle + (front * (Vector3d.Dot(Symmetric(_anchor) - middle, front) - BallRadius));
        }
    }

    /// <summary>Radius of either ball; of a flat eye, half its mean breadth.</summary>
    public double BallRadius => _ballRadius * EyeSize;

    /// <summary>Mean factor of the eyes' breadth and height.</summary>
    public double EyeSize => (_eyes.Size.X + _eyes.Size.Y) / 2;

    /// <summary>Where a point of the template's head goes.</summary>
    public Vector3d Apply(Vector3d point)
    {
        Vector3d moved = Symmetric(point);
        double ownSide = 1 - Fading(EyeDistance(point), LidsEnd, ShiftsBegin);
        Vector3d sum = moved;
        foreach ((Vector3d centre, JointShift shift) in _shifts)
        {
            sum += shift.Move * (ownSide * Math.Exp(-(moved - centre).LengthSquared / (2 * shift.Radius * shift.Radius)));
        }

        return sum;
    }

    /// <summary>The same without the changes of one side.</summary>
    public Vector3d Symmetric(Vector3d point)
    {
        Vector3d changed = _change.Apply(point);
        Vector3d left = EyeStretch(point) - changed;
        Vector3d right = MirrorX(EyeStretch(MirrorX(point))) - changed;
        return changed
            + (left * Fading(Vector3d.Distance(point, _eye), LidsEnd, SocketEnd))
            + (right * Fading(Vector3d.Distance(MirrorX(point), _eye), LidsEnd, SocketEnd));
    }

    /// <summary>Where a unit normal of a surface through a point goes: by the inverse transpose of the derivative.</summary>
    public Vector3d Normal(Vector3d point, Vector3d normal) => (Derivative(point).Inverse().Transposed() * normal).Normalized();

    /// <summary>Mean factor of lengths about a point.</summary>
    public double Stretch(Vector3d point) => Math.Cbrt(Derivative(point).Determinant);

    private Matrix3d Derivative(Vector3d point)
    {
        const double Step = 1e-4;
        return Matrix3d.FromColumns(Along(Vector3d.UnitX), Along(Vector3d.UnitY), Along(Vector3d.UnitZ));

        Vector3d Along(Vector3d axis) => (Apply(point + (axis * Step)) - Apply(point - (axis * Step))) / (2 * Step);
    }

    private Vector3d EyeStretch(Vector3d point)
    {
        Vector3d from = point - _anchor;
        if (_eyes.Flat)
        {
            // What flattens the eye must not draw brow and temple along.
            double thinner = (1 - _eyes.Size.Z) * Fading(Vector3d.Distance(point, _eye), LidsEnd, FlatnessEnd);
            from -= PlateFront * (thinner * Vector3d.Dot(from, PlateFront));
        }

        double depth = _eyes.Flat ? 1 : _eyes.Size.Z;
        return _change.Apply(_anchor) + _eyes.Move + new Vector3d(from.X * _eyes.Size.X, from.Y * _eyes.Size.Y, from.Z * depth);
    }

    private double EyeDistance(Vector3d point) => Math.Min(Vector3d.Distance(point, _eye), Vector3d.Distance(MirrorX(point), _eye));

    // From 1 to 0 with two continuous derivatives (the quintic of Perlin 2002).
    private static double Fading(double distance, double from, double to)
    {
        double t = Math.Clamp((distance - from) / (to - from), 0, 1);
        return 1 - (t * t * t * ((t * ((t * 6) - 15)) + 10));
    }

    private static Vector3d MirrorX(Vector3d p) => p with { X = -p.X };
}
