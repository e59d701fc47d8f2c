using System.CommandLine;
using AutoPlace.Cli.Bulk;

namespace AutoPlace.Cli.Commands;

/// <summary><c>autoplace bulk</c>: places many heads and says which of them need a person.</summary>
internal static class BulkCommand
{
    internal static Command Create(CommandSession session)
    {
        Argument<string> heads = PathArgument.Create<string>("DIR|LIST", "Folder with heads, or a text file with the path of one on each line.");
        Option<string> output = PathArgument.NotEmpty(
            new Option<string>("--output", "-o") { Description = "Folder for the files of all heads and the report.", HelpName = "DIR", Required = true });
        var resume = new Option<bool>("--resume") { Description = "Keep what an earlier run with the same options has finished." };
        var command = new Command("bulk", "Place many heads: a contact sheet, the worst first, and a list of those that need a person.")
        {
            heads, output, resume,
        };
        var latticeOptions = new LatticeOptions();
        latticeOptions.AddTo(command);
        var headOptions = new HeadOptions();
        headOptions.AddTo(command);
        command.SetAction(parsed =>
        {
            string folder = parsed.GetValue(output)!;
            PlacementOptions options = latticeOptions.Read(parsed, headOptions.Read(parsed));
            IReadOnlyList<BulkHead> all = BulkHead.ReadAll(parsed.GetValue(heads)!, session.Error.WriteLine);
            BulkOutcome[] outcomes = new BulkRun(session, options, folder, MadeWith(options)).Place(all, parsed.GetValue(resume));
            var report = new BulkReport(all, outcomes);
            report.Write(folder);
            session.Print(text => report.WriteSummary(text, folder));
            return report.Doubtful > 0 ? ExitCode.NeedsPerson : ExitCode.Placed;
        });
        return command;
    }

    // The same program and options place the same head alike.
    private static string MadeWith(PlacementOptions options) => string.Join(
        ' ',
        typeof(PlacementPipeline).Module.ModuleVersionId,
        options.Template?.Sha256 ?? "built-in",
        options.Lattice,
        options.Up?.ToString() ?? "any",
        options.Front?.ToString() ?? "any",
        options.Symmetric,
        string.Join('|', options.Parts));
}
