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
        return new Command("template", "Make templates of own rigs, and check templates.") { From(session), check };
    }

    private static Command From(CommandSession session)
    {
        Argument<string> head = PathArgument.Create<string>("HEAD", "File of the head that the rig was fitted to: .glb, .gltf, .obj, .ply, .stl, .off.");
        Argument<string> rig = PathArgument.Create<string>("RIG", "The rig in that file's coordinates: JSON {\"joints\": [{\"name\", \"position\", \"rotation\"?, \"parent\"?}]}, or .glb or .gltf with skin joints or plain nodes.");
        Option<string?> output = PathArgument.NotEmpty(new Option<string?>("--output", "-o")
        {
            Description = "Template file to write; left out, ./<rig name>.template.json.",
            HelpName = "FILE",
        });
        var from = new Command("from", "Make a template from a head and the rig that was fitted to it.") { head, rig, output };
        var headOptions = new HeadOptions();
        headOptions.AddTo(from);
        from.SetAction(parsed => From(
            session, parsed.GetValue(head)!, parsed.GetValue(rig)!, headOptions.Read(parsed), parsed.GetValue(output)));
        return from;
    }

    private static int From(CommandSession session, string headPath, string rigPath, PlacementOptions options, string? output)
    {
        Rig rig = RigReader.Read(rigPath);
        string name = Path.GetFileNameWithoutExtension(rigPath);
        PlacementResult result = session.Place(headPath, options with { CarriesTopology = false });
        FittedTemplate fitted = TemplateFitting.Fit(name, result, rig);
        string file = output ?? Path.Combine(".", $"{name}.template.json");
        TemplateFile.Write(file, fitted.Template);
        session.Print(text => TemplateSummary.Write(text, fitted, file));
        return ExitCode.Placed;
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
