namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>What else measuring writes.</summary>
/// <param name="Sheet">File for a picture of all heads with their lattices, or null.</param>
/// <param name="Pictures">Folder for one picture of each head, or null.</param>
internal sealed record MeasureOptions(string? Sheet = null, string? Pictures = null)
{
    /// <summary>Reads options, or returns null when they aren't understood.</summary>
    public static MeasureOptions? TryRead(ReadOnlySpan<string> arguments) => arguments switch
    {
        [] => new MeasureOptions(),
        ["--sheet", var file, .. var rest] when TryRead(rest) is { } other => other with { Sheet = file },
        ["--pictures", var folder, .. var rest] when TryRead(rest) is { } other => other with { Pictures = folder },
        _ => null,
    };
}
