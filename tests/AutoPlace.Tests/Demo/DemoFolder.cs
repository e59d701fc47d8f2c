using System.Runtime.CompilerServices;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using Xunit;

namespace AutoPlace.Tests.Demo;

/// <summary>The committed heads of The Lantern Market.</summary>
internal static class DemoFolder
{
    /// <summary>Every head's truth, by name.</summary>
    public static IReadOnlyDictionary<string, TruthFile> Truths { get; } =
        TruthFile.ReadAll(Folder()).ToDictionary(truth => truth.Name, StringComparer.Ordinal);

    /// <summary>Names, as rows of a theory.</summary>
    public static TheoryData<string> Names => [.. Truths.Keys];

    private static string Folder([CallerFilePath] string path = "") =>
        Path.GetFullPath(Path.Combine(Path.GetDirectoryName(path)!, "../../../training-data/demo"));
}
