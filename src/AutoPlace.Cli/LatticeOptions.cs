using System.CommandLine;

namespace AutoPlace.Cli;

/// <summary>Options about what is placed, shared by the verbs that place.</summary>
internal sealed class LatticeOptions
{
    private readonly Option<string?> _template = TemplateFile.Option("Template file; left out, the built-in lattice.");

    private readonly Option<LatticeExtent> _lattice =
        new("--lattice") { Description = "Which of the template's joints.", HelpName = "full|reduced" };

    /// <summary>Adds the options to a verb.</summary>
    internal void AddTo(Command command)
    {
        command.Add(_template);
        command.Add(_lattice);
    }

    /// <summary>Options with those as given; reads the template.</summary>
    /// <exception cref="Template.TemplateFormatException">The template can't be read or isn't one.</exception>
    internal PlacementOptions Read(ParseResult parsed, PlacementOptions options) => options with
    {
        Lattice = parsed.GetValue(_lattice),
        Template = parsed.GetValue(_template) is string file ? TemplateFile.Read(file) : null,
    };
}
