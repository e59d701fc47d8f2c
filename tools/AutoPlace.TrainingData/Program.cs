using AutoPlace;
using AutoPlace.TrainingData;

try
{
    return args.Length == 0 ? Commands.Usage() : args[0] switch
    {
        "generate" => Commands.Generate(args.AsSpan(1)),
        "layout" => Commands.Layout(),
        "sheet" => Commands.Sheet(args.AsSpan(1)),
        "bench" => Commands.Bench(args.AsSpan(1)),
        "import-obj" => Commands.ImportObj(args.AsSpan(1)),
        _ => Commands.Usage(),
    };
}
catch (FormatException exception)
{
    Console.Error.WriteLine(exception.Message);
    return Commands.WrongUsage;
}
catch (Exception exception) when (exception is PlacementException or IOException or UnauthorizedAccessException or ArgumentException or AggregateException)
{
    Console.Error.WriteLine(exception.Message);
    return Commands.Failed;
}
