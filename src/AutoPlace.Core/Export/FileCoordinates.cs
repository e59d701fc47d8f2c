using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.Verification;

namespace AutoPlace.Export;

/// <summary>
/// Takes placements from the head frame (interocular distances) to the coordinates, unit and axes of the head's file,
/// and back. Where the file's coordinates are mirrored, a rotation R becomes <c>M R diag(-1, 1, 1)</c> with M the
/// mirroring map of axes, so that a joint's x axis keeps running along its row.
/// </summary>
public static class FileCoordinates
{
    /// <summary>Decimals of quaternions and of the frame's directions; 1e-9 moves nothing on a head by 1e-6 of its size.</summary>
    private const int DirectionDecimals = 9;

    /// <summary>Describes a result for other programs, rounded so that equal placements are equal text.</summary>
    /// <param name="result">The placement, head frame.</param>
    public static PlacementDocument Describe(PlacementResult result)
    {
        ArgumentNullException.ThrowIfNull(result);
        HeadFrame frame = result.Frame;
        LengthRounding lengths = LengthRounding.For(frame.InterocularDistance);
        return new PlacementDocument
        {
            Head = new PlacedHead(
                result.Scan.Source,
                result.Scan.Sha256,
                LengthRounding.Significant(result.MetresPerUnit),
                Rounded(frame, lengths),
                result.Neutral.ToDictionary(n => n.Key, n => LengthRounding.Fraction(n.Value), StringComparer.Ordinal),
                result.NeedsPerson with { Probability = LengthRounding.Fraction(result.NeedsPerson.Probability) }),
            Template = new PlacedTemplate(
                result.Template.Name, result.Template.Version, result.Template.Sha256, result.Lattice),
            Model = result.Model,
            Landmarks = [.. result.Landmarks.Select(l => Describe(l, frame, lengths))],
            Joints = DescribeJoints(result.Placement.Joints, frame, lengths),
            Rows = result.Placement.Rows,
            Columns = result.Placement.Columns,
            Findings = [.. result.Findings.Select(f => f with
            {
                Value = LengthRounding.Fraction(f.Value),
                Limit = LengthRounding.Fraction(f.Limit),
            })],
            Timings = [.. result.Timings.Select(t => t with { Milliseconds = Math.Round(t.Milliseconds, 1) })],
        };
    }

    /// <summary>
    /// The joints of a document in the head frame. What a document doesn't say (how a joint rides, whether it sits in
    /// a fold) comes from the template's joint of the same name, if there is one.
    /// </summary>
    /// <param name="document">The document.</param>
    /// <param name="template">The template that it was made with, or null when that isn't at hand.</param>
    /// <param name="seen">Where the head is in the file, or null for what the document says.</param>
    public static LatticePlacement ToHeadFrame(PlacementDocument document, TemplateHead? template, HeadFrame? seen = null)
    {
        ArgumentNullException.ThrowIfNull(document);
        Dictionary<string, ControlJoint> known = template is null
            ? []
            : template.Lattice.Joints.ToDictionary(j => j.Name, StringComparer.Ordinal);
        HeadFrame frame = seen ?? document.Head.Frame;
        var joints = new JointPlacement[document.Joints.Count];
        for (int j = 0; j < joints.Length; j++)
        {
            PlacedJoint placed = document.Joints[j];
            joints[j] = new JointPlacement
            {
                Joint = known.GetValueOrDefault(placed.Name) ?? JointOf(placed, frame),
                Position = frame.ToHead(placed.Position),
                Rotation = RotationToHead(placed.Rotation, frame),
                State = placed.State,
                LocalSize = placed.LocalSize,
                Lift = placed.Lift / frame.InterocularDistance,
                Radius90 = placed.Radius90 / frame.InterocularDistance,
                PositionLocked = placed.PositionLocked,
                RotationLocked = placed.RotationLocked,
            };
        }

        return new LatticePlacement(joints, document.Rows, document.Columns);
    }

    /// <summary>The landmarks of a document in the head frame, with the isotropic covariance of their radius.</summary>
    /// <param name="document">The document.</param>
    /// <param name="seen">Where the head is in the file, or null for what the document says.</param>
    public static IReadOnlyList<Landmark> LandmarksToHeadFrame(PlacementDocument document, HeadFrame? seen = null)
    {
        ArgumentNullException.ThrowIfNull(document);
        HeadFrame frame = seen ?? document.Head.Frame;
        double unitRadius = ConfidenceRadius.Of90(Matrix3d.Identity);
        return [.. document.Landmarks.Select(l =>
        {
            double sigma = l.Radius90 / frame.InterocularDistance / unitRadius;
            double presence = l.Source == LandmarkSource.Inferred ? 0 : 1;
            return new Landmark(l.Name, frame.ToHead(l.Position), Matrix3d.Identity * (sigma * sigma), presence, l.Source);
        })];
    }

    /// <summary>A rotation of the head frame in the file's axes.</summary>
    public static Rotation3d RotationToFile(Rotation3d headRotation, HeadFrame frame)
    {
        ArgumentNullException.ThrowIfNull(frame);
        Matrix3d axes = Matrix3d.FromColumns(frame.Left, frame.Up, frame.Front);
        return Rotation3d.FromMatrix(WithoutMirror(axes * headRotation.ToMatrix(), axes)).Canonical();
    }

    /// <summary>A rotation of the file's axes in the head frame; undoes <see cref="RotationToFile"/>.</summary>
    public static Rotation3d RotationToHead(Rotation3d fileRotation, HeadFrame frame)
    {
        ArgumentNullException.ThrowIfNull(frame);
        Matrix3d axes = Matrix3d.FromColumns(frame.Left, frame.Up, frame.Front);
        return Rotation3d.FromMatrix(WithoutMirror(axes.Transposed() * fileRotation.Normalized().ToMatrix(), axes)).Canonical();
    }

    private static Matrix3d WithoutMirror(Matrix3d m, Matrix3d axes) =>
        axes.Determinant < 0 ? m * Matrix3d.Diagonal(-1, 1, 1) : m;

    private static PlacedLandmark Describe(Landmark landmark, HeadFrame frame, LengthRounding lengths) => new(
        landmark.Name,
        lengths.Round(frame.ToFile(landmark.Position)),
        lengths.Round(ConfidenceRadius.Of90(landmark.Covariance) * frame.InterocularDistance),
        landmark.Source);

    private static PlacedJoint[] DescribeJoints(IReadOnlyList<JointPlacement> joints, HeadFrame frame, LengthRounding lengths)
    {
        var world = new Dictionary<string, (Vector3d Position, Rotation3d Rotation)>(joints.Count, StringComparer.Ordinal);
        var described = new PlacedJoint[joints.Count];
        for (int j = 0; j < described.Length; j++)
        {
            JointPlacement placed = joints[j];
            Vector3d position = frame.ToFile(placed.Position);
            Rotation3d rotation = RotationToFile(placed.Rotation, frame);
            world.Add(placed.Joint.Name, (position, rotation));
            (Vector3d origin, Rotation3d axes) =
                placed.Joint.Parent is null ? (Vector3d.Zero, Rotation3d.Identity) : world[placed.Joint.Parent];
            described[j] = new PlacedJoint
            {
                Name = placed.Joint.Name,
                Region = placed.Joint.Region,
                Side = placed.Joint.Side,
                Kind = placed.Joint.Kind,
                Parent = placed.Joint.Parent,
                Position = lengths.Round(position),
                Rotation = Rounded(rotation),
                LocalTranslation = lengths.Round(axes.Inverse().Rotate(position - origin)),
                LocalRotation = Rounded(axes.Inverse() * rotation),
                LocalSize = LengthRounding.Fraction(placed.LocalSize),
                State = placed.State,
                Lift = lengths.Round(placed.Lift * frame.InterocularDistance),
                Radius90 = lengths.Round(placed.Radius90 * frame.InterocularDistance),
                PositionLocked = placed.PositionLocked,
                RotationLocked = placed.RotationLocked,
            };
        }

        return described;
    }

    private static ControlJoint JointOf(PlacedJoint placed, HeadFrame frame) => new()
    {
        Name = placed.Name,
        Region = placed.Region,
        Side = placed.Side,
        Kind = placed.Kind,
        Parent = placed.Parent,
        Position = frame.ToHead(placed.Position),
        Rotation = RotationToHead(placed.Rotation, frame),
        Ride = placed.Kind == JointKind.Surface ? Ride.Skin : Ride.Inner,
        Lift = placed.Lift / frame.InterocularDistance,
    };

    internal static HeadFrame Rounded(HeadFrame frame, LengthRounding lengths) => new(
        lengths.Round(frame.Origin),
        Rounded(frame.Left),
        Rounded(frame.Up),
        Rounded(frame.Front),
        lengths.Round(frame.InterocularDistance));

    private static Vector3d Rounded(Vector3d direction) => new(
        LengthRounding.ToDecimals(direction.X, DirectionDecimals),
        LengthRounding.ToDecimals(direction.Y, DirectionDecimals),
        LengthRounding.ToDecimals(direction.Z, DirectionDecimals));

    internal static Rotation3d Rounded(Rotation3d rotation)
    {
        Rotation3d q = rotation.Canonical();
        return new Rotation3d(
            LengthRounding.ToDecimals(q.X, DirectionDecimals),
            LengthRounding.ToDecimals(q.Y, DirectionDecimals),
            LengthRounding.ToDecimals(q.Z, DirectionDecimals),
            LengthRounding.ToDecimals(q.W, DirectionDecimals)).Canonical();
    }
}
