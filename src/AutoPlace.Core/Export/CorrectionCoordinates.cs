using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Registration.Correcting;

namespace AutoPlace.Export;

/// <summary>Takes corrections from the head frame (interocular distances) to the coordinates, unit and axes of the head's file, and back.</summary>
public static class CorrectionCoordinates
{
    /// <summary>Cosine of the angle between the axes of two versions of a head from which on a rotation stays as the file has it: a frame that is found anew differs by some degrees.</summary>
    private const double SameAxes = 0.9;

    /// <summary>Two versions of a head in the same place of the same file have eyes this near to each other, interocular distances, and as far apart but for this factor.</summary>
    private const double SamePlace = 0.3, SameUnit = 1.25;

    /// <summary>Describes a result's corrections, rounded so that equal corrections are equal text.</summary>
    /// <param name="result">The placement.</param>
    public static CorrectionsDocument Describe(PlacementResult result)
    {
        ArgumentNullException.ThrowIfNull(result);
        LengthRounding lengths = LengthRounding.For(result.Frame.InterocularDistance);
        return new CorrectionsDocument
        {
            Source = result.Scan.Source,
            Sha256 = result.Scan.Sha256,
            Frame = FileCoordinates.Rounded(result.Frame, lengths),
            TemplateName = result.Template.Name,
            TemplateVersion = result.Template.Version,
            Joints = [.. result.Corrections.Joints.Values.Select(joint => Describe(joint, result.Frame, lengths))],
            Landmarks = [.. result.Corrections.Landmarks.Values.Select(landmark => new CorrectedLandmark(
                landmark.Landmark, lengths.Round(result.Frame.ToFile(landmark.Position)), landmark.AtlasPoint is { } atlas ? Rounded(atlas) : null, landmark.Note))],
        };
    }

    /// <summary>
    /// The corrections in the frame of a head, which may be another version of the one that they were made on. Positions stay
    /// where they are in the file, or on the head where that lies elsewhere; lifts grow with the head. What belongs to the
    /// body rig stays in the file in any case.
    /// </summary>
    /// <param name="document">The corrections.</param>
    /// <param name="frame">Where the head is in its file.</param>
    public static Corrections ToHeadFrame(CorrectionsDocument document, HeadFrame frame)
    {
        ArgumentNullException.ThrowIfNull(document);
        ArgumentNullException.ThrowIfNull(frame);
        Corrections result = Corrections.None;
        HeadFrame from = LiesElsewhere(document, frame) ? document.Frame : frame;
        HeadFrame turned = HaveSameAxes(document.Frame, frame) ? frame : document.Frame;
        foreach (CorrectedJoint joint in document.Joints)
        {
            result = result.With(new JointCorrection
            {
                Joint = joint.Name,
                Position = joint.Position is { } position ? (joint.OfBodyRig ? frame : from).ToHead(position) : null,
                AtlasPoint = joint.AtlasPoint,
                Lift = joint.Lift / document.Frame.InterocularDistance,
                Rotation = joint.Rotation is { } rotation ? FileCoordinates.RotationToHead(rotation, turned) : null,
                OfBodyRig = joint.OfBodyRig,
                Influence = joint.Influence / document.Frame.InterocularDistance,
                CarriesChildren = joint.CarriesChildren,
                Note = joint.Note,
            });
        }

        foreach (CorrectedLandmark landmark in document.Landmarks)
        {
            result = result.With(new LandmarkCorrection(landmark.Name, from.ToHead(landmark.Position), landmark.AtlasPoint, landmark.Note));
        }

        return result;
    }

    /// <summary>True when a head has another unit, other axes or another place in its file than the one that corrections were made on.</summary>
    /// <param name="document">The corrections.</param>
    /// <param name="frame">Where the head is in its file.</param>
    public static bool LiesElsewhere(CorrectionsDocument document, HeadFrame frame)
    {
        ArgumentNullException.ThrowIfNull(document);
        ArgumentNullException.ThrowIfNull(frame);
        double scale = frame.InterocularDistance / document.Frame.InterocularDistance;
        return scale is < 1 / SameUnit or > SameUnit
            || Vector3d.Distance(frame.Origin, document.Frame.Origin) > SamePlace * frame.InterocularDistance
            || !HaveSameAxes(document.Frame, frame);
    }

    private static bool HaveSameAxes(HeadFrame a, HeadFrame b) => Vector3d.Dot(a.Left, b.Left) > SameAxes && Vector3d.Dot(a.Up, b.Up) > SameAxes;

    private static CorrectedJoint Describe(JointCorrection joint, HeadFrame frame, LengthRounding lengths) => new()
    {
        Name = joint.Joint,
        Position = joint.Position is { } position ? lengths.Round(frame.ToFile(position)) : null,
        AtlasPoint = joint.AtlasPoint is { } atlas ? Rounded(atlas) : null,
        Lift = joint.Lift is { } lift ? lengths.Round(lift * frame.InterocularDistance) : null,
        Rotation = joint.Rotation is { } rotation ? FileCoordinates.Rounded(FileCoordinates.RotationToFile(rotation, frame)) : null,
        OfBodyRig = joint.OfBodyRig,
        Influence = joint.Influence is { } influence ? lengths.Round(influence * frame.InterocularDistance) : null,
        CarriesChildren = joint.CarriesChildren,
        Note = joint.Note,
    };

    private static Vector3d Rounded(Vector3d atlas) =>
        new(LengthRounding.Fraction(atlas.X), LengthRounding.Fraction(atlas.Y), LengthRounding.Fraction(atlas.Z));
}
