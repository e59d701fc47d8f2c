using System.Text;
using AutoPlace.Export;
using AutoPlace.Registration.Correcting;
using AutoPlace.Verification;

namespace AutoPlace.Service.Revisions;

/// <summary>What a revision says, as it is stored.</summary>
/// <param name="Result">The placement.</param>
/// <param name="Document">The same in file coordinates.</param>
/// <param name="Placement">Its placement.json.</param>
/// <param name="Corrections">Its corrections.json.</param>
internal sealed record RevisionContent(PlacementResult Result, PlacementDocument Document, byte[] Placement, string Corrections)
{
    /// <summary>Solves a head for corrections. They are rounded as they are stored first, so that the same comes out when they are read back.</summary>
    /// <param name="placed">The head.</param>
    /// <param name="corrections">All corrections.</param>
    /// <param name="cancellation">Stops it.</param>
    public static RevisionContent Solve(PlacementResult placed, Corrections corrections, CancellationToken cancellation)
    {
        CorrectionsDocument stored = CorrectionCoordinates.Describe(placed with { Corrections = corrections });
        return Of(CorrectedPlacement.Of(placed, CorrectionCoordinates.ToHeadFrame(stored, placed.Frame), cancellation));
    }

    /// <summary>The content of a placement whose corrections came from outside; what was said about them stays said.</summary>
    public static RevisionContent Kept(PlacementResult kept, CancellationToken cancellation)
    {
        if (kept.Corrections.IsEmpty)
        {
            return Of(kept);
        }

        PlacementResult solved = Solve(kept, kept.Corrections, cancellation).Result;
        return Of(solved with
        {
            Findings = PlacementChecks.Sorted(
                solved.Findings.Where(f => f.Check != CorrectionCheck.Name), kept.Findings.Where(f => f.Check == CorrectionCheck.Name)),
            Timings = kept.Timings,
        });
    }

    /// <summary>The corrections of a stored revision in a head's frame.</summary>
    public static Corrections Read(string corrections, PlacementResult placed)
    {
        using var text = new MemoryStream(Encoding.UTF8.GetBytes(corrections));
        return CorrectionCoordinates.ToHeadFrame(CorrectionsJson.Read(text, "corrections"), placed.Frame);
    }

    private static RevisionContent Of(PlacementResult result)
    {
        PlacementDocument document = FileCoordinates.Describe(result);
        using var placement = new MemoryStream();
        PlacementJson.Write(document, placement);
        using var corrections = new MemoryStream();
        CorrectionsJson.Write(CorrectionCoordinates.Describe(result), corrections);
        return new RevisionContent(result, document, placement.ToArray(), Encoding.UTF8.GetString(corrections.ToArray()));
    }
}
