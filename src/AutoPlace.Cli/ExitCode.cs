namespace AutoPlace.Cli;

/// <summary>What the program says to the shell that called it.</summary>
internal static class ExitCode
{
    internal const int Placed = 0;
    internal const int NeedsPerson = 1;
    internal const int WrongUsage = 2;
    internal const int Unreadable = 3;
    internal const int NoHead = 4;
    internal const int CheckFailed = 5;
    internal const int NotWritten = 6;
    internal const int InternalError = 70;
    internal const int Interrupted = 130;
}
