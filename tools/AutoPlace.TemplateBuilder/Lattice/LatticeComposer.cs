using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Sources;

namespace AutoPlace.TemplateBuilder.Lattice;

/// <summary>
/// Collects the joints of the midline and of the left side and mirrors them: the right side is the left one with the
/// sign of x changed and nothing else, so both agree to the last bit.
/// </summary>
internal sealed class LatticeComposer
{
    private readonly Func<Vector3d, SkinContact> _skin;
    private readonly List<ControlJoint> _joints = [];
    private readonly List<JointSequence> _rows = [];
    private readonly List<JointSequence> _columns = [];
    private readonly Dictionary<string, Vector3d> _normals = new(StringComparer.Ordinal);

    /// <param name="skin">The point of the reference head's skin nearest to a point; atlas coordinates.</param>
    public LatticeComposer(Func<Vector3d, SkinContact> skin) => _skin = skin;

    /// <summary>Region of the joints added next.</summary>
    public string Region { get; set; } = string.Empty;

    /// <summary>Adds a joint that rides on the skin. Names without a side belong to the midline.</summary>
    /// <param name="name">Name; a left joint ends in <c>_left</c>.</param>
    /// <param name="parent">Name of the parent.</param>
    /// <param name="guide">A point near its place; the nearest point of the skin is taken.</param>
    /// <param name="lift">Signed lift in interocular distances.</param>
    /// <param name="inFold">True in lid margins, lip contact, commissures, nostrils.</param>
    /// <param name="kind">Kind of the joint.</param>
    public void Surface(string name, string parent, Vector3d guide, double lift, bool inFold = false, JointKind kind = JointKind.Surface)
    {
        SkinContact contact = _skin(guide);
        Vector3d normal = contact.Normal, broad = contact.BroadNormal;
        Vector3d point = Rounded(contact.Point);
        if (IsMiddle(name))
        {
            point = point with { X = 0 };
            normal = (normal with { X = 0 }).Normalized();
            broad = (broad with { X = 0 }).Normalized();
        }

        // In a fold the skin's own normal points across to the other side; the frame keeps to the face at large.
        _normals.Add(name, inFold ? broad : normal);
        Add(new ControlJoint
        {
            Name = name,
            Kind = kind,
            Parent = parent,
            Position = Rounded(point + (normal * lift)),
            Ride = Ride.Skin,
            Lift = lift,
            SkinPoint = point,
            RotationPolicy = RotationPolicy.TurnWithSkin,
            InFold = inFold,
        });
    }

    /// <summary>Adds a joint that doesn't ride on the skin; it keeps the axes of the head frame.</summary>
    public void Inside(string name, string? parent, Vector3d position, Ride ride, JointKind kind = JointKind.Pivot, RotationPolicy policy = RotationPolicy.KeepWorld)
    {
        Add(new ControlJoint
        {
            Name = name,
            Kind = kind,
            Parent = parent,
            Position = Rounded(IsMiddle(name) ? position with { X = 0 } : position),
            Ride = ride,
            RotationPolicy = policy,
        });
    }

    /// <summary>Adds a row. One that crosses the midline is listed from the midline outward; one of the left side ends its name in <c>_left</c>.</summary>
    public void Row(string name, params string[] joints) => _rows.AddRange(Mirrored(name, joints, closed: false));

    /// <summary>Adds a closed row that crosses the midline, listed from the foremost midline joint over the left side to the rearmost.</summary>
    public void Ring(string name, params string[] joints) => _rows.AddRange(Mirrored(name, joints, closed: true));

    /// <summary>Adds a column, from above down; of the left side if its name ends in <c>_left</c>.</summary>
    public void Column(string name, params string[] joints)
    {
        _columns.Add(new JointSequence(name, joints));
        if (!IsMiddle(name))
        {
            _columns.Add(new JointSequence(LandmarkNames.Mirror(name), [.. joints.Select(LandmarkNames.Mirror)]));
        }
    }

    /// <summary>The whole lattice, with the frames of the surface joints.</summary>
    public JointLattice Compose()
    {
        var joints = new List<ControlJoint>();
        foreach (ControlJoint joint in _joints)
        {
            ControlJoint framed = joint.Ride == Ride.Skin ? joint with { Rotation = Frame(joint) } : joint;
            joints.Add(framed);
            if (framed.Side == Side.Left)
            {
                joints.Add(Mirror(framed));
            }
        }

        return new JointLattice(joints, _rows, _columns);
    }

    private static bool IsMiddle(string name) => LandmarkNames.Mirror(name) == name;

    // Six decimals are what the file keeps; rounding here makes file and memory agree.
    private static Vector3d Rounded(Vector3d p) => new(Math.Round(p.X, 6), Math.Round(p.Y, 6), Math.Round(p.Z, 6));

    private static ControlJoint Mirror(ControlJoint joint) => joint with
    {
        Name = LandmarkNames.Mirror(joint.Name),
        Side = Side.Right,
        Parent = joint.Parent is null ? null : LandmarkNames.Mirror(joint.Parent),
        Position = Mirror(joint.Position),
        SkinPoint = joint.SkinPoint is { } point ? Mirror(point) : null,
        Ride = joint.Ride == Ride.EyeballLeft ? Ride.EyeballRight : joint.Ride,

        // S R S with S = diag(-1, 1, 1): x keeps running along the row through the midline.
        Rotation = new Rotation3d(joint.Rotation.X, -joint.Rotation.Y, -joint.Rotation.Z, joint.Rotation.W),
    };

    private static Vector3d Mirror(Vector3d p) => p with { X = -p.X };

    private static IEnumerable<JointSequence> Mirrored(string name, string[] joints, bool closed)
    {
        IEnumerable<string> right = joints.Reverse().Select(LandmarkNames.Mirror);
        if (!IsMiddle(name))
        {
            return [new JointSequence(name, joints), new JointSequence(LandmarkNames.Mirror(name), [.. right])];
        }

        // A midline joint at either end is its own mirror image and must not be listed twice.
        IEnumerable<string> across = closed ? joints.Concat(right.Where(joint => !IsMiddle(joint))) : right.Where(joint => !IsMiddle(joint)).Concat(joints);
        return [new JointSequence(name, [.. across], closed)];
    }

    private void Add(ControlJoint joint)
    {
        _joints.Add(joint with { Region = Region, Side = IsMiddle(joint.Name) ? Side.Middle : Side.Left });
    }

    // z along the skin's normal, x along the first row through the joint (towards the subject's left), y the rest.
    private Rotation3d Frame(ControlJoint joint)
    {
        Vector3d z = _normals[joint.Name];
        Vector3d along = (RowDirection(joint) ?? Vector3d.UnitX).Normalized();
        if ((along - (z * Vector3d.Dot(along, z))).Length < 0.2)
        {
            along = -Vector3d.UnitZ;
        }

        Vector3d x = (along - (z * Vector3d.Dot(along, z))).Normalized();
        return Rotation3d.FromMatrix(Matrix3d.FromColumns(x, Vector3d.Cross(z, x), z)).Canonical();
    }

    private Vector3d? RowDirection(ControlJoint joint)
    {
        foreach (JointSequence row in _rows)
        {
            int index = row.Joints.ToList().IndexOf(joint.Name);
            if (index >= 0 && joint.Side == Side.Left)
            {
                string before = row.Joints[Math.Max(index - 1, 0)], after = row.Joints[Math.Min(index + 1, row.Joints.Count - 1)];
                return Position(after) - Position(before);
            }
        }

        return null;
    }

    private Vector3d Position(string name)
    {
        ControlJoint? joint = _joints.Find(candidate => candidate.Name == name);
        return joint?.Position ?? Mirror(_joints.Find(candidate => candidate.Name == LandmarkNames.Mirror(name))!.Position);
    }
}
