using System.Reflection;

namespace AutoPlace.Template;

/// <summary>The template that comes with the program.</summary>
public static class BuiltInTemplate
{
    private const string ResourceName = "AutoPlace.Template.built-in.json";

    /// <summary>Reads the built-in template: an own head fitted to the training mean, with the whole lattice.</summary>
    public static TemplateHead Load()
    {
        using Stream stream = Assembly.GetExecutingAssembly().GetManifestResourceStream(ResourceName)
            ?? throw new InvalidOperationException($"The resource {ResourceName} is missing from the assembly.");
        byte[] json = new byte[stream.Length];
        stream.ReadExactly(json);
        return TemplateReader.Read("built-in template", json);
    }
}
