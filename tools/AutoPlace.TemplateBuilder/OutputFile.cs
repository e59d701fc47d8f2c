namespace AutoPlace.TemplateBuilder;

/// <summary>Files that appear whole or not at all.</summary>
internal static class OutputFile
{
    /// <summary>Writes under a temporary name, then renames.</summary>
    public static void Write(string path, byte[] contents)
    {
        string temporary = path + ".tmp";
        File.WriteAllBytes(temporary, contents);
        File.Move(temporary, path, overwrite: true);
    }
}
