using System.Runtime.CompilerServices;

namespace AutoPlace.Service.Tests;

/// <summary>The demonstration heads as files.</summary>
internal static class DemoFile
{
    public static byte[] Read(string name) => File.ReadAllBytes(Path.Combine(Repository(), "training-data", "demo", name));

    public static string Repository([CallerFilePath] string path = "") => Path.GetFullPath(Path.Combine(Path.GetDirectoryName(path)!, "../.."));
}
