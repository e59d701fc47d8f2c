using AutoPlace.Export;
using AutoPlace.Verification;

namespace AutoPlace.Cli;

/// <summary>Files of corrections that a call names.</summary>
internal static class KeepFile
{
    /// <summary>Name of the file that a placement's corrections are written to.</summary>
    internal const string Name = "corrections.json";

    /// <summary>Options with what a file says: a corrections.json, or a placement.json that was corrected elsewhere.</summary>
    /// <exception cref="PlacementFormatException">It can't be read or is neither.</exception>
    internal static PlacementOptions Keep(PlacementOptions options, string path)
    {
        try
        {
            return CorrectionsInput.Keep(options, File.ReadAllBytes(path), path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new PlacementFormatException(path, null, e.Message, e);
        }
    }

    /// <summary>Says on the error stream what became of corrections.</summary>
    /// <param name="error">The error stream.</param>
    /// <param name="result">The placement.</param>
    /// <param name="folder">Folder that the files go to.</param>
    /// <param name="kept">True when the call named corrections.</param>
    internal static void Report(TextWriter error, PlacementResult result, string folder, bool kept)
    {
        if (!kept)
        {
            string lying = Path.Combine(folder, Name);
            if (File.Exists(lying))
            {
                error.WriteLine($"{lying} is left as it is and was not used; --keep {lying} does");
            }

            return;
        }

        Finding[] findings = [.. result.Findings.Where(f => f.Check == CorrectionCheck.Name)];
        int all = result.Corrections.Joints.Count + result.Corrections.Landmarks.Count;
        error.WriteLine($"{result.Scan.Source}: {PlacementSummary.Count(all, "correction")} kept{(findings.Length > 0 ? ", of which to look at:" : "")}");
        foreach (Finding finding in findings)
        {
            error.WriteLine($"  {finding.Message}");
        }
    }
}
