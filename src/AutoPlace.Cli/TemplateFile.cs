using System.CommandLine;
using AutoPlace.Export;
using AutoPlace.Template;

namespace AutoPlace.Cli;

/// <summary>Template files that a call names.</summary>
internal static class TemplateFile
{
    /// <summary>The option that names one.</summary>
    internal static Option<string?> Option(string description) =>
        PathArgument.NotEmpty(new Option<string?>("--template") { Description = description, HelpName = "FILE" });

    /// <summary>Writes one, whole or not at all.</summary>
    /// <exception cref="OutputException">It can't be written.</exception>
    internal static void Write(string file, TemplateHead template)
    {
        string path = Path.GetFullPath(file);
        if (Directory.Exists(path))
        {
            throw new OutputException(file, "is a folder");
        }

        using var output = new OutputFolder(Path.GetDirectoryName(path)!);
        output.Add(Path.GetFileName(path), stream => stream.Write(TemplateWriter.Write(template)));
        output.Commit();
    }

    /// <summary>Reads one.</summary>
    /// <exception cref="TemplateFormatException">It can't be read or isn't a template.</exception>
    internal static TemplateHead Read(string file)
    {
        try
        {
            TemplateHead template = TemplateReader.Read(file, File.ReadAllBytes(file));
            LatticeRules.CheckHead(file, template);
            return template;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new TemplateFormatException(file, null, e.Message, e);
        }
    }
}
