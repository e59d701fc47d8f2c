using System.Runtime.InteropServices;
using AutoPlace;
using AutoPlace.Cli;

using var interrupted = new CancellationTokenSource();
using PosixSignalRegistration interrupt = PosixSignalRegistration.Create(PosixSignal.SIGINT, Interrupt);
using PosixSignalRegistration terminate = PosixSignalRegistration.Create(PosixSignal.SIGTERM, Interrupt);
PlacementPipeline? pipeline = null;
try
{
    return CommandLine.Run(args, new CommandSession(Console.Out, Console.Error, OpenPlacer, interrupted.Token));
}
finally
{
    pipeline?.Dispose();
}

Placer OpenPlacer() => (pipeline = PlacementPipeline.Open()).Run;

void Interrupt(PosixSignalContext context)
{
    context.Cancel = true;
    interrupted.Cancel();
}
