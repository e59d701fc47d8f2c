using AutoPlace.Conditioning;
using AutoPlace.Export;
using AutoPlace.Import;
using AutoPlace.Registration.Correcting;
using AutoPlace.Template;
using AutoPlace.Verification;

namespace AutoPlace;

/// <summary>The corrections that a placement is asked to keep, fitted to its head.</summary>
/// <param name="Corrections">All of them, for this head.</param>
/// <param name="Findings">What is to be said about them.</param>
internal sealed record KeptCorrections(Corrections Corrections, IReadOnlyList<Finding> Findings)
{
    private static readonly CheckLimit SameUnit = new(0, "count", "none: that corrections went along with a head is said, so that nobody looks for them where they were");

    private static readonly CheckLimit SameTemplate = new(0, "count", "corrections are kept on the template that they were made with");

    /// <summary>Fits what the options ask to keep.</summary>
    /// <exception cref="PlacementFormatException">A placement corrected elsewhere is one of another head or template.</exception>
    public static KeptCorrections Of(PlacementOptions options, HeadScan scan, HeadFrame frame, TemplateHead template, CorrectableHead head)
    {
        Corrections elsewhere = options.Corrected is { } corrected ? Of(corrected, scan, frame, template, head) : Corrections.None;
        if (options.Corrections is not { } document)
        {
            return new KeptCorrections(elsewhere, []);
        }

        (Corrections kept, IReadOnlyList<CorrectionFit> fits) = CorrectionFitting.Fit(
            head, CorrectionCoordinates.ToHeadFrame(document, frame), document.Sha256 == scan.Sha256);
        foreach (JointCorrection joint in elsewhere.Joints.Values)
        {
            kept = kept.With(joint);
        }

        foreach (LandmarkCorrection landmark in elsewhere.Landmarks.Values)
        {
            kept = kept.With(landmark);
        }

        var leftOut = template.Lattice.Joints.Select(joint => joint.Name).ToHashSet(StringComparer.Ordinal);
        List<Finding> findings = [.. CorrectionCheck.Run(fits, leftOut)];
        if (CorrectionCoordinates.LiesElsewhere(document, frame))
        {
            findings.Add(SameUnit.Finding(
                CorrectionCheck.Name, Severity.Info, "head", 1,
                $"This head has another unit, other axes or another place in its file than in {document.Source}: corrections are taken along with it."));
        }

        if (document.TemplateName != template.Name)
        {
            findings.Add(SameTemplate.Finding(
                CorrectionCheck.Name, Severity.Warning, document.TemplateName, 1,
                $"The corrections were made with the template {document.TemplateName}, not {template.Name}: they are used for joints of the same name."));
        }

        return new KeptCorrections(kept, findings);
    }

    private static Corrections Of(PlacementDocument corrected, HeadScan scan, HeadFrame frame, TemplateHead template, CorrectableHead head)
    {
        if (corrected.Head.Sha256 != scan.Sha256)
        {
            throw new PlacementFormatException(
                scan.Source, "head.sha256", $"the corrected placement was made on {corrected.Head.Source}, which is another file; place that one with it, and keep its corrections.json on this one");
        }

        if (corrected.Template.Name != template.Name)
        {
            throw new PlacementFormatException(
                corrected.Head.Source, "template.name", $"the corrected placement was made with the template {corrected.Template.Name}, not {template.Name}");
        }

        return CorrectionDifferences.Of(head, FileCoordinates.ToHeadFrame(corrected, template, frame).Joints, FileCoordinates.LandmarksToHeadFrame(corrected, frame));
    }
}
