using System.Globalization;
using System.Text;
using AutoPlace.Export;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;
using AutoPlace.Verification;

namespace AutoPlace.Cli;

/// <summary>A placement as text on the terminal.</summary>
internal static class PlacementSummary
{
    /// <summary>Findings shown one by one; the others are only counted.</summary>
    private const int ShownFindings = 12;

    /// <summary>Joints named that are worth a look.</summary>
    private const int ShownJoints = 5;

    /// <summary>Writes the placement itself.</summary>
    internal static void WriteJson(TextWriter output, PlacementDocument document, bool onOneLine = false)
    {
        using var stream = new MemoryStream();
        PlacementJson.Write(document, stream, onOneLine);
        output.Write(Encoding.UTF8.GetString(stream.GetBuffer(), 0, (int)stream.Length));
    }

    /// <summary>Writes what a person wants to know first.</summary>
    /// <param name="output">Receives lines.</param>
    /// <param name="document">The placement.</param>
    /// <param name="next">Its joints in the order in which to look at them.</param>
    internal static void Write(TextWriter output, PlacementDocument document, IReadOnlyList<LookGain> next)
    {
        int Count(JointState state) => document.Joints.Count(j => j.State == state);
        string probability = document.Head.NeedsPerson.Probability.ToString("P0", CultureInfo.InvariantCulture);
        output.WriteLine(
            $"{document.Head.Source}: {document.Joints.Count} joints ({Count(JointState.Modelled)} modelled, {Count(JointState.Inferred)} inferred, {Count(JointState.Absent)} absent), "
            + $"{document.Landmarks.Count} landmarks");
        if (document.Head.Neutral.Count > 0)
        {
            output.WriteLine($"face: {string.Join(", ", Face(document.Head.Neutral))}");
        }

        output.WriteLine($"needs a person: {string.Join("; ", [probability, .. Reasons(document)])}");
        WriteFindings(output, document.Findings);
        if (next.Count > 0)
        {
            Dictionary<string, double> radii = document.Joints.ToDictionary(
                j => j.Name, j => 100 * j.Radius90 / document.Head.Frame.InterocularDistance, StringComparer.Ordinal);
            output.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"look first at (90 % radius, % of the interocular distance): {string.Join(", ", next.Take(ShownJoints).Select(n => string.Create(CultureInfo.InvariantCulture, $"{n.Joint} {radii[n.Joint]:0.0}")))}"));
        }
    }

    // Failed checks are told one by one among the findings.
    private static IEnumerable<string> Reasons(PlacementDocument document)
    {
        string[] failed = [.. document.Findings.Where(f => f.Severity == Severity.Error).Select(ReviewNeed.ReasonOf)];
        return document.Head.NeedsPerson.Reasons.Except(failed).Concat(failed.Length > 0 ? [$"{Count(failed.Length, "error")} below"] : []);
    }

    // The face against the neutral one.
    private static IEnumerable<string> Face(IReadOnlyDictionary<string, double> neutral)
    {
        if (neutral.TryGetValue(NeutralState.JawAngleDegrees, out double jaw))
        {
            yield return string.Create(CultureInfo.InvariantCulture, $"jaw open by {Math.Max(0, jaw):0} degrees");
        }

        if (neutral.TryGetValue(NeutralState.LipGapMouthWidths, out double gap))
        {
            yield return string.Create(CultureInfo.InvariantCulture, $"lips apart by {gap:0.00} of the mouth's width");
        }

        foreach ((string name, string side) in ((string, string)[])[(NeutralState.LidApertureLeft, "left"), (NeutralState.LidApertureRight, "right")])
        {
            if (neutral.TryGetValue(name, out double aperture))
            {
                yield return string.Create(CultureInfo.InvariantCulture, $"{side} lids {100 * aperture:0} % open");
            }
        }

        foreach ((string side, string yawName, string pitchName) in ((string, string, string)[])[
            ("left", NeutralState.GazeLeftYawDegrees, NeutralState.GazeLeftPitchDegrees), ("right", NeutralState.GazeRightYawDegrees, NeutralState.GazeRightPitchDegrees)])
        {
            if (neutral.TryGetValue(yawName, out double yaw) && neutral.TryGetValue(pitchName, out double pitch))
            {
                yield return Math.Abs(yaw) < 0.5 && Math.Abs(pitch) < 0.5 ? $"{side} eye looks ahead" : string.Create(
                    CultureInfo.InvariantCulture,
                    $"{side} eye looks {Math.Abs(yaw):0} degrees {(yaw < 0 ? "right" : "left")} and {Math.Abs(pitch):0} {(pitch < 0 ? "down" : "up")}");
            }
        }
    }

    /// <summary>Writes findings, the worst first.</summary>
    internal static void WriteFindings(TextWriter output, IReadOnlyList<Finding> findings)
    {
        foreach (Finding finding in findings.Take(ShownFindings))
        {
            output.WriteLine($"  {(finding.Severity == Severity.Info ? "note" : finding.Severity.ToString().ToLowerInvariant())}: {finding.Check}: {finding.Message}{Measured(finding)}");
        }

        if (findings.Count > ShownFindings)
        {
            output.WriteLine($"  and {findings.Count - ShownFindings} more");
        }

        output.WriteLine($"findings: {Of(Severity.Error, "error")}, {Of(Severity.Warning, "warning")}, {Of(Severity.Info, "note")}");

        string Of(Severity severity, string word) => Count(findings.Count(f => f.Severity == severity), word);
    }

    // Value and limit with as many digits as show which is the larger one; what is counted or likely the message tells in words.
    private static string Measured(Finding finding)
    {
        if (finding.Unit is "count" or "likelihood" || finding.Limit == 0)
        {
            return string.Empty;
        }

        (string value, string limit) = (string.Empty, string.Empty);
        for (int digits = 3; value == limit && digits <= 9; digits++)
        {
            (value, limit) = (Text(finding.Value), Text(finding.Limit));

            string Text(double number) => number.ToString(string.Create(CultureInfo.InvariantCulture, $"G{digits}"), CultureInfo.InvariantCulture);
        }

        return $" ({value}, limit {limit})";
    }

    /// <summary>A number with its word, in the plural unless it is one.</summary>
    internal static string Count(int count, string word) => $"{count} {word}{(count == 1 ? "" : "s")}";

    /// <summary>0, or 5 when a check of severity error failed.</summary>
    internal static int ExitCodeOf(PlacementDocument document) =>
        document.Findings.Any(f => f.Severity == Severity.Error) ? ExitCode.CheckFailed : ExitCode.Placed;
}
