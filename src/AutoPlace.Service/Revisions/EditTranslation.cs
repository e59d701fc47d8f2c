using AutoPlace.Conditioning;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration.Correcting;
using AutoPlace.Service.Hosting;
using AutoPlace.Template;

namespace AutoPlace.Service.Revisions;

/// <summary>Edits as they come in, in file coordinates, as the edits of the head frame.</summary>
/// <param name="scan">The head.</param>
/// <param name="frame">Where the head is in its file.</param>
/// <param name="note">Who, when, why.</param>
internal sealed class EditTranslation(HeadScan scan, HeadFrame frame, string? note)
{
    /// <summary>The revision after an edit.</summary>
    /// <exception cref="CorrectionException">The edit can't be made.</exception>
    /// <exception cref="RequestRefused">It has another number of coordinates, or names a part that isn't there.</exception>
    public Revision Apply(Revision at, EditRequest edit) =>
        Translated(at, edit).Aggregate(at, (revision, next) => revision.After(next with { Note = note }));

    private IEnumerable<Edit> Translated(Revision at, EditRequest edit) => edit switch
    {
        MoveJointRequest e => [new MoveJoint(e.Joint, Point(e.Joint, e.Position))
        {
            AlongSkin = e.AlongSkin,
            Influence = e.Influence / frame.InterocularDistance,
            CarriesChildren = e.CarriesChildren,
        }],
        TurnJointRequest e => [new TurnJoint(e.Joint, Rotation(e.Joint, e.Rotation))],
        LockJointRequest e => [new LockJoint(e.Joint, e.Position, e.Rotation) { OfBodyRig = e.BodyRig }],
        UnlockJointRequest e => [new UnlockJoint(e.Joint, e.Position, e.Rotation)],
        MirrorJointsRequest e => Mirrored(at, e),
        MoveLandmarkRequest e => [new MoveLandmark(e.Landmark, Point(e.Landmark, e.Position))],
        UnlockLandmarkRequest e => [new UnlockLandmark(e.Landmark)],
        RowToLoopRequest e => [RowToLoop.Through(at.Head, e.Row, Point(e.Row, e.Point))],
        PivotToPartRequest e => [Pivot(at, e)],
        _ => throw RequestRefused.Unusable("restore", "stands alone in its list"),
    };

    // Each side is mirrored onto the other; what is named of both sides would be mirrored onto itself.
    private static IEnumerable<Edit> Mirrored(Revision at, MirrorJointsRequest edit)
    {
        foreach (IGrouping<Side?, string> side in edit.Joints.GroupBy(joint => at.Joint(joint).Joint.Side))
        {
            string first = side.First();
            yield return side.Key is Side.Left or Side.Right
                ? new MirrorJoints(side.Key.Value) { Joints = [.. side], ByTopology = edit.By == MirrorBy.Topology }
                : throw new CorrectionException(first, "lies on no side that could be mirrored");
        }
    }

    private PivotToPart Pivot(Revision at, PivotToPartRequest edit)
    {
        int part = scan.Parts.ToList().FindIndex(p => p.Name == edit.Part);
        if (part < 0)
        {
            throw RequestRefused.Unusable(edit.Part, "there is no such part");
        }

        var vertices = new HashSet<int>();
        for (int f = 0; f < scan.Mesh.FaceCount; f++)
        {
            if (scan.FaceParts[f] == part)
            {
                foreach (int vertex in scan.Mesh.Face(f))
                {
                    vertices.Add(vertex);
                }
            }
        }

        return PivotToPart.Nearest(at.Head, edit.Joint, vertices, edit.Point is { } point ? Point(edit.Joint, point) : at.Joint(edit.Joint).Position);
    }

    private Vector3d Point(string subject, double[] numbers)
    {
        Vector3d point = numbers.Length == 3
            ? frame.ToHead(new Vector3d(numbers[0], numbers[1], numbers[2]))
            : throw RequestRefused.Unusable(subject, "a position has three numbers");
        return point.Length <= Corrections.Farthest
            ? point
            : throw RequestRefused.Unusable(subject, $"the position lies {point.Length:G4} interocular distances from the head, more than {Corrections.Farthest:G4}");
    }

    private Rotation3d Rotation(string subject, double[] numbers)
    {
        // Written with few decimals, a quaternion is a little off length 1; anything else is no rotation.
        const double Tolerance = 1e-3;
        var rotation = numbers.Length == 4
            ? new Rotation3d(numbers[0], numbers[1], numbers[2], numbers[3])
            : throw RequestRefused.Unusable(subject, "a rotation has four numbers");
        return Math.Abs(rotation.Norm - 1) < Tolerance
            ? FileCoordinates.RotationToHead(rotation, frame)
            : throw RequestRefused.Unusable(subject, "a rotation has length 1");
    }
}
