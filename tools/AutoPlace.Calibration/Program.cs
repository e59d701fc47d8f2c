using AutoPlace;
using AutoPlace.Calibration;
using AutoPlace.Calibration.Truth;
using AutoPlace.TrainingData;

try
{
    return args.FirstOrDefault() switch
    {
        "record" => RecordCommand.Run(args.AsSpan(1)),
        "fit" => FitCommand.Run(args.AsSpan(1)),
        "shape" => ShapeCommand.Run(args.AsSpan(1)),
        "views" => ViewsCommand.Run(args.AsSpan(1)),
        "truth" => TruthCommand.Run(args.AsSpan(1)),
        _ => RecordCommand.Usage(),
    };
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
