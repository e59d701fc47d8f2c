using AutoPlace.Template;

namespace AutoPlace.Cli;

/// <summary>Template files that a call names.</summary>
internal static class TemplateFile
{
    /// <summary>Reads one.</summary>
    /// <exception cref="TemplateFormatException">It can't be read or isn't a template.</exception>
    internal static TemplateHead Read(string file)
    {
        try
        {
            return TemplateReader.Read(file, File.ReadAllBytes(file));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new TemplateFormatException(file, null, e.Message, e);
        }
    }
}
