using System.CommandLine;
using AutoPlace.Export;
using AutoPlace.Template;

namespace AutoPlace.Cli.Commands;

/// <summary><c>autoplace check</c>: the checks alone, also on a placement made by hand.</summary>
internal static class CheckCommand
{
    internal static Command Create(CommandSession session)
    {
        Argument<string> head = PathArgument.Create<string>("HEAD", "File of the head.");
        Argument<string> placement = PathArgument.Create<string>("PLACEMENT", "A placement.json on that head.");
        Option<string?> template = TemplateFile.Option("Template that the placement was made with; left out, the one built in.");
        var json = new Option<bool>("--json") { Description = "Print the placement with the new findings in place of a summary." };
        var command = new Command("check", "Check a placement, whoever made it.") { head, placement, template, json };
        var headOptions = new HeadOptions();
        headOptions.AddTo(command);
        command.SetAction(parsed => Check(
            session, parsed.GetValue(head)!, parsed.GetValue(placement)!, parsed.GetValue(template), headOptions.Read(parsed), parsed.GetValue(json)));
        return command;
    }

    private static int Check(CommandSession session, string head, string placement, string? templateFile, PlacementOptions options, bool json)
    {
        PlacementDocument document = Read(placement);
        TemplateHead? own = templateFile is null ? null : TemplateFile.Read(templateFile);
        if (own is not null && own.Name != document.Template.Name)
        {
            throw new PlacementFormatException(placement, "template.name", $"'{document.Template.Name}', but {templateFile} is '{own.Name}'");
        }

        // The head is looked at afresh: what it is judged by doesn't come from the file, but for landmarks that a person set.
        PlacementResult seen = session.Place(head, options);
        if (seen.Scan.Sha256 != document.Head.Sha256)
        {
            session.Error.WriteLine(seen.Scan.Source == document.Head.Source
                ? $"{placement} was made on another version of {document.Head.Source}"
                : $"{placement} was made on {document.Head.Source}, not on {seen.Scan.Source}");
        }

        TemplateHead? template = own ?? (seen.Template.Name == document.Template.Name ? seen.Template : null);
        PlacementDocument judged = document with { Findings = CorrectedPlacement.Judge(seen, document, template) };
        session.Print(output =>
        {
            if (json)
            {
                PlacementSummary.WriteJson(output, judged);
            }
            else
            {
                PlacementSummary.WriteFindings(output, judged.Findings);
            }
        });
        return PlacementSummary.ExitCodeOf(judged);
    }

    private static PlacementDocument Read(string path)
    {
        try
        {
            using FileStream stream = File.OpenRead(path);
            return PlacementJson.Read(stream, path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new PlacementFormatException(path, null, e.Message, e);
        }
    }
}
