using AutoPlace.Export;
using AutoPlace.Import;
using AutoPlace.Template;

namespace AutoPlace.Cli;

/// <summary>Places a lattice on a scan; the product's is <see cref="PlacementPipeline.Run"/>.</summary>
internal delegate PlacementResult Placer(HeadScan scan, PlacementOptions options, CancellationToken cancellation);

/// <summary>What the commands of one call share: where they write, and the pipeline, opened when first needed.</summary>
internal sealed class CommandSession
{
    private readonly Lazy<Placer> _placer;
    private (PlacementOptions Options, int Parts) _asked = (PlacementOptions.Default, 0); // of the head that was placed last

    /// <summary>Makes a session.</summary>
    /// <param name="output">Receives results.</param>
    /// <param name="error">Receives progress and messages.</param>
    /// <param name="openPlacer">Opens the pipeline.</param>
    /// <param name="cancellation">Set when the user interrupts.</param>
    internal CommandSession(TextWriter output, TextWriter error, Func<Placer> openPlacer, CancellationToken cancellation)
    {
        Output = output;
        Error = error;
        Cancellation = cancellation;
        _placer = new Lazy<Placer>(openPlacer);
    }

    /// <summary>Receives results.</summary>
    internal TextWriter Output { get; }

    /// <summary>Receives progress and messages.</summary>
    internal TextWriter Error { get; }

    /// <summary>Set when the user interrupts.</summary>
    internal CancellationToken Cancellation { get; }

    /// <summary>True to say more on the error stream.</summary>
    internal bool Verbose { get; set; }

    /// <summary>Opens the pipeline now, for runs that go on when a head fails: what keeps it from opening concerns all of them.</summary>
    internal void OpenPipeline() => _ = _placer.Value;

    /// <summary>Reads a head and places a lattice on it, announcing the stages when asked to say more.</summary>
    internal PlacementResult Place(string path, PlacementOptions options)
    {
        // The pipeline opens while the head is read; when that fails, the program mustn't end amid the opening.
        Task opening = Task.Run(() => _placer.Value, CancellationToken.None);
        try
        {
            return Place(MeshReader.Read(path), path, options);
        }
        finally
        {
            Task.WaitAny([opening], CancellationToken.None);
        }
    }

    /// <summary>Places a lattice on a scan that is no file of its own.</summary>
    internal PlacementResult Place(HeadScan scan, PlacementOptions options) => Place(scan, scan.Source, options);

    private PlacementResult Place(HeadScan scan, string path, PlacementOptions options)
    {
        _asked = (options, scan.Parts.Count);
        if (Verbose)
        {
            Error.WriteLine($"{path}: {scan.Mesh.VertexCount} vertices, {scan.Mesh.FaceCount} faces, {scan.Parts.Count} parts");
        }

        if (scan.DoubledFaces > 0)
        {
            Error.WriteLine($"{path}: {PlacementSummary.Count(scan.DoubledFaces, "face")} left out that lie where another one does");
        }

        if (scan.DroppedFaces > 0)
        {
            Error.WriteLine($"{path}: {PlacementSummary.Count(scan.DroppedFaces, "face")} left out that have fewer than three corners");
        }

        return _placer.Value(
            scan, options with { OnStage = Verbose ? stage => Error.WriteLine($"{path}: {stage}") : null }, Cancellation);
    }

    /// <summary>Writes a result on <see cref="Output"/>.</summary>
    /// <exception cref="OutputException">It takes no more, as on a full disk.</exception>
    internal void Print(Action<TextWriter> write)
    {
        try
        {
            write(Output);
            Output.Flush();
        }
        catch (IOException e)
        {
            throw new OutputException("standard output", e.Message, e);
        }
    }

    // What may still help where no head was found.
    private IEnumerable<string> Untried()
    {
        if (_asked.Options is not { Up: not null, Front: not null })
        {
            yield return "--up and --front together say so, and which way it is turned";
        }

        if (_asked is { Options.Parts.Count: 0, Parts: > 1 })
        {
            yield return "--part NAME says which parts of the file are its own";
        }
    }

    /// <summary>Runs a step and turns what stops it into a message and an exit code.</summary>
    internal int Guard(Func<int> step)
    {
        try
        {
            return step();
        }
        catch (OperationCanceledException)
        {
            Error.WriteLine("interrupted");
            return ExitCode.Interrupted;
        }
        catch (PlacementException e)
        {
            Error.WriteLine(e.Message);
            if (e is HeadNotFoundException && string.Join("; ", Untried()) is { Length: > 0 } advice)
            {
                Error.WriteLine($"If there is one, {advice}.");
            }

            return e switch
            {
                MeshFormatException or PlacementFormatException or TemplateFormatException => ExitCode.Unreadable,
                HeadNotFoundException => ExitCode.NoHead,
                OutputException => ExitCode.NotWritten,
                WrongUsageException => ExitCode.WrongUsage,
                _ => ExitCode.InternalError,
            };
        }
        catch (Exception e)
        {
            Error.WriteLine($"internal error: {(Verbose ? e : e.Message)}");
            return ExitCode.InternalError;
        }
    }
}
