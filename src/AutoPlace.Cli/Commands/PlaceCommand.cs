using System.CommandLine;
using AutoPlace.Cli.Bulk;
using AutoPlace.Export;
using AutoPlace.Import;
using AutoPlace.Registration.Correcting;

namespace AutoPlace.Cli.Commands;

/// <summary><c>autoplace place</c>: places a lattice on one or several heads and writes the files.</summary>
internal static class PlaceCommand
{
    /// <summary>Probability that a head is misunderstood from which on it is said that it can be picked out by its parts.</summary>
    private const double InDoubt = 0.5;

    private const int NamedParts = 12;

    internal static Command Create(CommandSession session)
    {
        Argument<string[]> heads = PathArgument.Create<string[]>(
            "HEAD", "File of a head or a whole character: .glb, .gltf, .obj, .ply, .stl, .off.");
        heads.Arity = ArgumentArity.OneOrMore;
        Option<string?> output = PathArgument.NotEmpty(new Option<string?>("--output", "-o")
        {
            Description = "Folder for the files; left out, ./<head name>.placement. With several heads, one folder for each inside it; those of the same name are numbered.",
            HelpName = "DIR",
        });
        Option<string?> keep = PathArgument.NotEmpty(new Option<string?>("--keep")
        {
            Description = "Corrections to keep: a corrections.json of this head or another version of it, or a placement.json of this head that was corrected elsewhere.",
            HelpName = "CORRECTIONS",
        });
        var json = new Option<bool>("--json") { Description = "Print the placement itself in place of a summary; those of several heads as JSON Lines, one on each line." };
        var command = new Command("place", "Place a lattice on heads.") { heads, output, keep, json };
        var latticeOptions = new LatticeOptions();
        latticeOptions.AddTo(command);
        var headOptions = new HeadOptions();
        headOptions.AddTo(command);
        command.Validators.Add(result =>
        {
            if (result.GetResult(keep) is { Implicit: false } && result.GetResult(heads)?.Tokens.Count > 1)
            {
                result.AddError("--keep is for one head: corrections belong to it.");
            }
        });
        command.SetAction(parsed =>
        {
            PlacementOptions options = latticeOptions.Read(parsed, headOptions.Read(parsed));
            options = parsed.GetValue(keep) is string kept ? KeepFile.Keep(options, kept) : options;
            IReadOnlyList<BulkHead> all = BulkHead.Named(parsed.GetValue(heads)!);
            int worst = ExitCode.Placed;
            foreach (BulkHead head in all)
            {
                string folder = Folder(head, parsed.GetValue(output), all.Count > 1);
                int code = session.Guard(() => Place(session, head.Path, options, folder, parsed.GetValue(json), all.Count > 1));
                worst = Math.Max(worst, code);
                if (code == ExitCode.Interrupted)
                {
                    break;
                }
            }

            return worst;
        });
        return command;
    }

    private static int Place(CommandSession session, string path, PlacementOptions options, string folder, bool json, bool several)
    {
        PlacementResult result = session.Place(path, options);
        PlacementDocument document = FileCoordinates.Describe(result);
        PlacementFiles.Write(folder, path, result, document, session.Cancellation);
        if (result.Confidence?.Misunderstood >= InDoubt && options.Parts.Count == 0 && result.Scan.Parts.Count > 1)
        {
            session.Error.WriteLine($"{path}: hair, hats and clothes that are parts of their own are left out by --part NAME for each part of the head; {Parts(result.Scan)}");
        }

        if (result.Confidence is { OtherHeads: { Count: > 0 } others, PlacedHead: { } placed })
        {
            bool areApart = others.Append(placed).All(name => result.Scan.Parts.Any(part => part.Name == name));
            session.Error.WriteLine($"{path}: one of several heads was placed, not placed: {string.Join(", ", others)}; placed: {placed}; "
                + (areApart ? $"--part NAME for each part of a head says which one is meant; {Parts(result.Scan)}" : "they share a part of the file, so for another one a file of its own is needed"));
        }

        KeepFile.Report(session.Error, result, folder, kept: options.Corrections is not null || options.Corrected is not null);
        session.Print(output =>
        {
            if (json)
            {
                PlacementSummary.WriteJson(output, document, onOneLine: several);
            }
            else
            {
                PlacementSummary.Write(output, document, LookGain.Of(result.Placement));
                output.WriteLine($"files in {folder}");
            }
        });
        return PlacementSummary.ExitCodeOf(document);
    }

    private static string Parts(HeadScan scan) => $"parts are {string.Join(", ", scan.Parts.Take(NamedParts).Select(p => p.Name))}"
        + (scan.Parts.Count > NamedParts ? $" and {scan.Parts.Count - NamedParts} more" : "");

    private static string Folder(BulkHead head, string? output, bool several)
    {
        string own = $"{head.Name}.placement";
        return output is null ? Path.Combine(".", own) : several ? Path.Combine(output, own) : output;
    }
}
