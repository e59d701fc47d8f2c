using System.CommandLine;
using System.CommandLine.Parsing;

namespace AutoPlace.Cli;

/// <summary>Options about what is placed, shared by the verbs that place.</summary>
internal sealed class LatticeOptions
{
    private readonly Option<string?> _template = TemplateFile.Option("Template file; left out, the built-in lattice.");

    private readonly Option<LatticeExtent> _lattice =
        new("--lattice") { Description = "Which of the template's joints; left out, full.", HelpName = "full|reduced", CustomParser = Extent };

    /// <summary>Adds the options to a verb.</summary>
    internal void AddTo(Command command)
    {
        command.Add(_template);
        command.Add(_lattice);
    }

    /// <summary>Options with those as given; reads the template.</summary>
    /// <exception cref="Template.TemplateFormatException">The template can't be read or isn't one.</exception>
    /// <exception cref="WrongUsageException">The reduced joints are wanted of a template that has only one level.</exception>
    internal PlacementOptions Read(ParseResult parsed, PlacementOptions options)
    {
        string? file = parsed.GetValue(_template);
        PlacementOptions read = options with
        {
            Lattice = parsed.GetValue(_lattice),
            Template = file is null ? null : TemplateFile.Read(file),
        };
        return read.LacksReducedLevel
            ? throw new WrongUsageException($"--lattice reduced: {file} has only one level; its list \"reduced\" names no joint")
            : read;
    }

    private static LatticeExtent Extent(ArgumentResult result)
    {
        string word = result.Tokens[0].Value;
        if (word is not ("full" or "reduced"))
        {
            result.AddError($"--lattice: '{word}' is neither full nor reduced.");
        }

        return word == "reduced" ? LatticeExtent.Reduced : LatticeExtent.Full;
    }
}
