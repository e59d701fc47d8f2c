using AutoPlace;
using AutoPlace.Calibration;
using AutoPlace.TrainingData;

try
{
    return args.Length > 0 && args[0] == "record" ? RecordCommand.Run(args.AsSpan(1)) : RecordCommand.Usage();
}
catch (FormatException exception)
{
    Console.Error.WriteLine(exception.Message);
    return Commands.WrongUsage;
}
catch (Exception exception) when (exception is PlacementException or IOException or UnauthorizedAccessException)
{
    Console.Error.WriteLine(exception.Message);
    return Commands.Failed;
}
