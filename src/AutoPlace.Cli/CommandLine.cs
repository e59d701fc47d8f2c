using System.CommandLine;
using System.CommandLine.Invocation;
using AutoPlace.Cli.Commands;

namespace AutoPlace.Cli;

/// <summary>The command <c>autoplace</c> and its verbs.</summary>
internal static class CommandLine
{
    /// <summary>Runs a call.</summary>
    /// <param name="arguments">Words after the command's name.</param>
    /// <param name="session">Where it writes and what it places with.</param>
    /// <returns>The exit code.</returns>
    internal static int Run(string[] arguments, CommandSession session)
    {
        var verbose = new Option<bool>("--verbose") { Description = "Say more on the error stream.", Recursive = true };
        var root = new RootCommand("Places a face-rig lattice on a new head: every joint where it belongs, with an honest account of how sure that is.")
        {
            verbose,
            PlaceCommand.Create(session),
            CheckCommand.Create(session),
            RenderCommand.Create(session),
            EvaluateCommand.Create(session),
            BulkCommand.Create(session),
            TemplateCommand.Create(session),
            ServeCommand.Create(session),
        };
        ParseResult parsed = root.Parse(arguments);
        session.Verbose = parsed.GetValue(verbose);
        if (parsed.Action is ParseErrorAction or null)
        {
            foreach (var problem in parsed.Errors)
            {
                session.Error.WriteLine(problem.Message);
            }

            session.Error.WriteLine("See autoplace --help, or --help after a verb.");
            return ExitCode.WrongUsage;
        }

        return session.Guard(() => parsed.Invoke(new InvocationConfiguration
        {
            Output = session.Output,
            Error = session.Error,
            EnableDefaultExceptionHandler = false,
            ProcessTerminationTimeout = null,
        }));
    }
}
