namespace AutoPlace.Cli;

/// <summary>A call asks for what a file that it names doesn't have.</summary>
/// <param name="message">Option, file and reason, for a person.</param>
internal sealed class WrongUsageException(string message) : PlacementException(message);
