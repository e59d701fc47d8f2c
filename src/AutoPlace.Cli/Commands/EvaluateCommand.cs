using System.CommandLine;
using AutoPlace.Cli.Evaluation;
using AutoPlace.Export;

namespace AutoPlace.Cli.Commands;

/// <summary><c>autoplace evaluate</c>: places labelled heads and measures the distance to their landmarks.</summary>
internal static class EvaluateCommand
{
    internal static Command Create(CommandSession session)
    {
        Argument<string> folder = PathArgument.Create<string>(
            "DIR", $"Folder with a folder for each head, which holds a mesh and {LabelledHead.FileName}.");
        var json = new Option<bool>("--json") { Description = "Print the figures as JSON in place of a table." };
        Option<string?> pictures = PathArgument.NotEmpty(
            new Option<string?>("--pictures") { Description = "Folder for a picture of each lattice.", HelpName = "DIR" });
        var command = new Command("evaluate", "Place labelled heads and compare with their landmarks.") { folder, json, pictures };
        command.SetAction(parsed =>
        {
            IReadOnlyList<LabelledHead> heads = LabelledHead.ReadAll(parsed.GetValue(folder)!);
            using OutputFolder? sheets = parsed.GetValue(pictures) is string path ? new OutputFolder(path) : null;
            var report = new EvaluationReport([.. heads.Select(head => Score(session, head, sheets))]);
            sheets?.Commit();
            session.Print(parsed.GetValue(json) ? report.WriteJson : report.WriteTable);
            return ExitCode.Placed;
        });
        return command;
    }

    private static HeadScore Score(CommandSession session, LabelledHead head, OutputFolder? sheets)
    {
        session.Error.WriteLine(head.Id);
        PlacementResult result;
        try
        {
            result = session.Place(head.MeshPath, PlacementOptions.Default);
        }
        catch (PlacementException e) when (e is Import.MeshFormatException or HeadNotFoundException)
        {
            return HeadScore.Failed(head, e.Message);
        }

        sheets?.Add($"{head.Id}.png", stream => stream.Write(LatticePicture.Png(result)));
        return HeadScore.Of(head, FileCoordinates.Describe(result));
    }
}
