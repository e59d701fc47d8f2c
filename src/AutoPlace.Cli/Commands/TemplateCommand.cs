using System.CommandLine;
using System.Globalization;
using AutoPlace.Template;

namespace AutoPlace.Cli.Commands;

/// <summary><c>autoplace template</c>: what is done with templates rather than heads.</summary>
internal static class TemplateCommand
{
    internal static Command Create(CommandSession session)
    {
        Argument<string?> file = PathArgument.Create<string?>("FILE", "Template file; left out, the built-in template.");
        file.Arity = ArgumentArity.ZeroOrOne;
        var check = new Command("check", "Place a template on its own head and report what doesn't come back.") { file };
        check.SetAction(parsed => Check(session, parsed.GetValue(file)));
        return new Command("template", "Check templates.") { check };
    }

    private static int Check(CommandSession session, string? file)
    {
        TemplateHead template = file is null ? BuiltInTemplate.Load() : TemplateFile.Read(file);
        PlacementOptions options = PlacementOptions.Default with { Template = template };
        IReadOnlyList<JointReturn> own = Return(options);
        IReadOnlyList<JointReturn> looked = Return(options with { CarriesTopology = false });
        JointReturn[] lost = [.. own.Where(joint => !TemplateReturn.IsBack(joint))];
        session.Print(output =>
        {
            output.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{template.Name} {template.Version}: {own.Count - lost.Length} of {own.Count} joints come back on the template's own head to {100 * TemplateReturn.MostOffset} % of the interocular distance and {TemplateReturn.MostAngleDegrees} degrees"));
            foreach (JointReturn joint in lost)
            {
                output.WriteLine($"  {Describe(joint)}");
            }

            // Whether the atlas sees the template's head as it is: the way that all other heads go.
            JointReturn worst = looked.MaxBy(joint => joint.Offset)!;
            output.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"placed by looking, as on any other head: {100 * looked.Average(joint => joint.Offset):0.00} % off in the mean, at most {Describe(worst)}"));
        });
        return lost.Length == 0 ? ExitCode.Placed : ExitCode.CheckFailed;

        IReadOnlyList<JointReturn> Return(PlacementOptions wanted) =>
            TemplateReturn.Of(template, session.Place(TemplateScan.Of(template), wanted));
    }

    private static string Describe(JointReturn joint) => string.Create(
        CultureInfo.InvariantCulture, $"{joint.Joint} {100 * joint.Offset:0.00} % and {joint.AngleDegrees:0.00} degrees off");
}
