using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.Calibration.Truth;

/// <summary>
/// A rig whose joints are tied to vertices of the morphable head, so that its true place is known on every head that the
/// model makes. Joints of the skin lie on it; eyes, tongue and jaw hinge move affinely with the vertices around, teeth with their whole row.
/// Positions in centimetres of the model.
/// </summary>
internal sealed class TruthRig
{
    /// <summary>Cosine of the largest angle between a joint's normal and the triangle that it is tied to: not to the other lip.</summary>
    private const double Facing = 0.35;

    /// <summary>Radius of the patch whose turn is that of a joint on the skin, of the skin that carries a condyle, and of what carries a joint of the tongue (gums hang together with it), interocular distances.</summary>
    private const double Patch = 0.25, AroundCondyle = 0.8, AroundTongue = 0.35;

    /// <summary>Ridge of affine ties over the scatter's trace: nearly flat patches don't throw a point about.</summary>
    private const double Ridge = 1e-4;

    private static readonly string[] Condyles = ["condyle_left", "condyle_right"];

    private readonly MorphableModel _model;
    private readonly Tie[] _ties;

    /// <summary>Ties the built-in lattice to the mean.</summary>
    public TruthRig(MorphableModel model, PreparedTemplate template)
    {
        _model = model;
        Lattice = template.Head.Lattice;
        Joints = [.. Lattice.Joints.Where(j => j.Kind != JointKind.Attachment && j.Name != "skullbase" && (
            j.Ride is Ride.Skin or Ride.TeethUpper or Ride.TeethLower or Ride.Tongue or Ride.JawHinge || j.Name.StartsWith("eye_centre", StringComparison.Ordinal)))];
        int[] skin = [.. Enumerable.Range(0, model.VertexCount).Where(v => model.Parts[v] <= Part.Scalp)];
        int[] triangles = [.. Enumerable.Range(0, model.Triangles.Length / 3).Where(t => Corners(t).All(v => model.Parts[v] <= Part.Scalp))];
        var surface = new BoundingVolumeHierarchy(new TriangleMesh(model.MeanPositions, [.. triangles.SelectMany(Corners)]));
        _ties = [.. Joints.Select(joint => joint.Ride switch
        {
            Ride.Skin => OnSkin(surface, joint, template.SkinNormal(joint), skin),
            Ride.EyeballLeft => Affine(joint, Of(Part.EyeballLeft)),
            Ride.EyeballRight => Affine(joint, Of(Part.EyeballRight)),
            Ride.TeethUpper => Rigid(joint, Part.UpperTeeth),
            Ride.TeethLower => Rigid(joint, Part.LowerTeeth),
            Ride.Tongue => Affine(joint, [.. Of(Part.GumsTongue).Where(v => Vector3d.Distance(OnMean(joint.Position), (Vector3d)model.MeanPositions[v]) < AroundTongue * model.AtlasScale)]),
            _ => Affine(joint, [.. skin.Where(v => NearestCondyle(v, joint.Position) < AroundCondyle * model.AtlasScale)]),
        })];
    }

    /// <summary>The joints, as the built-in lattice has them.</summary>
    public IReadOnlyList<ControlJoint> Joints { get; }

    /// <summary>The lattice that they are taken from, with its rows.</summary>
    public JointLattice Lattice { get; }

    /// <summary>Where the joints are on a deformed head, and how it turned them.</summary>
    /// <param name="shape">V vertices of the model, centimetres.</param>
    public (Vector3d Position, Matrix3d Turn)[] On(ReadOnlySpan<Vector3> shape)
    {
        var result = new (Vector3d, Matrix3d)[_ties.Length];
        for (int j = 0; j < result.Length; j++)
        {
            Tie tie = _ties[j];
            SimilarityTransform moved = Moved(tie, shape);
            Vector3d at = tie.OnMean is { } onMean ? moved.Apply(onMean) : Vector3d.Zero;
            for (int k = 0; k < tie.Vertices.Length; k++)
            {
                at += (Vector3d)shape[tie.Vertices[k]] * tie.Weights[k];
            }

            result[j] = (at, moved.Rotation);
        }

        return result;
    }

    /// <summary>The rig on a deformed head, in a file's coordinates.</summary>
    public Rig On(ReadOnlySpan<Vector3> shape, FilePose pose)
    {
        (Vector3d Position, Matrix3d Turn)[] at = On(shape);
        var names = Joints.Select(j => j.Name).ToHashSet(StringComparer.Ordinal);
        return new Rig("truth rig", [.. Joints.Select((joint, j) => new RigJoint(
            joint.Name,
            joint.Parent is { } parent && names.Contains(parent) ? parent : null,
            pose.Apply(at[j].Position),
            Rotation3d.FromMatrix(pose.TurnMatrix * at[j].Turn * joint.Rotation.ToMatrix())))], []);
    }

    /// <summary>The joints of the built-in lattice that one of them carries.</summary>
    public IReadOnlySet<string> Below(string joint)
    {
        var below = new HashSet<string>(StringComparer.Ordinal) { joint };
        foreach (ControlJoint next in Lattice.Joints.Where(next => next.Parent is { } parent && below.Contains(parent))) // parents come first
        {
            below.Add(next.Name);
        }

        return below;
    }

    private SimilarityTransform Moved(Tie tie, ReadOnlySpan<Vector3> shape)
    {
        var mean = new Vector3d[tie.Around.Length];
        var now = new Vector3d[tie.Around.Length];
        for (int k = 0; k < mean.Length; k++)
        {
            (mean[k], now[k]) = ((Vector3d)_model.MeanPositions[tie.Around[k]], (Vector3d)shape[tie.Around[k]]);
        }

        return ProcrustesAlignment.Align(mean, now);
    }

    private Vector3d OnMean(Vector3d atlas) => (atlas * _model.AtlasScale) + (Vector3d)_model.AtlasOrigin;

    private int[] Corners(int triangle) => [_model.Triangles[3 * triangle], _model.Triangles[(3 * triangle) + 1], _model.Triangles[(3 * triangle) + 2]];

    private int[] Of(Part part)
    {
        (int first, int end) = _model.Layout.Range(part, _model.VertexCount);
        return [.. Enumerable.Range(first, end - first)];
    }

    // A row of teeth is hard: its joints move with all of it, as far as turn, shift and size explain it.
    private Tie Rigid(ControlJoint joint, Part part) => new([], [], Of(part), OnMean(joint.Position));

    // A hinge in the middle hangs on the skin around both condyles.
    private double NearestCondyle(int vertex, Vector3d joint) => Condyles
        .Select(name => Lattice.Joints.Single(j => j.Name == name).Position)
        .Where(condyle => Math.Abs(joint.X) < 0.1 || Math.Sign(condyle.X) == Math.Sign(joint.X))
        .Min(condyle => Vector3d.Distance(OnMean(condyle), (Vector3d)_model.MeanPositions[vertex]));

    private Tie OnSkin(BoundingVolumeHierarchy surface, ControlJoint joint, Vector3d normal, int[] skin)
    {
        Vector3d point = OnMean(joint.SkinPoint!.Value);
        SurfaceProximity near = surface.ClosestFacing((Vector3)point, normal, Facing);
        ReadOnlySpan<int> corners = surface.Mesh.Indices.Slice(3 * near.Point.Triangle, 3);
        Vector3d weights = near.Point.Barycentric;
        double reach = Patch * _model.AtlasScale;
        return new Tie(
            corners.ToArray(),
            [weights.X, weights.Y, weights.Z],
            [.. skin.Where(v => Vector3d.Distance((Vector3d)_model.MeanPositions[v], near.Position) < reach)]);
    }

    // Affine weights of least norm over the vertices that reproduce the joint on the mean.
    private Tie Affine(ControlJoint joint, int[] vertices)
    {
        Vector3d centre = Vector3d.Zero;
        foreach (int v in vertices)
        {
            centre += (Vector3d)_model.MeanPositions[v] / vertices.Length;
        }

        var scatter = default(Matrix3d);
        foreach (int v in vertices)
        {
            Vector3d d = (Vector3d)_model.MeanPositions[v] - centre;
            scatter += Matrix3d.Outer(d, d);
        }

        double ridge = Ridge * scatter.Trace;
        Vector3d gradient = (scatter + Matrix3d.Diagonal(ridge, ridge, ridge)).Inverse() * (OnMean(joint.Position) - centre);
        return new Tie(
            vertices, [.. vertices.Select(v => (1.0 / vertices.Length) + Vector3d.Dot(gradient, (Vector3d)_model.MeanPositions[v] - centre))], vertices);
    }

    /// <summary>Vertices whose weighted sum is the joint, and those whose turn is its own; with a place on the mean these carry the joint.</summary>
    private readonly record struct Tie(int[] Vertices, double[] Weights, int[] Around, Vector3d? OnMean = null);
}
