using System.Globalization;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Output;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData;

/// <summary>The commands.</summary>
internal static class Commands
{
    /// <summary>Exit code for wrong usage.</summary>
    public const int WrongUsage = 2;

    /// <summary>Exit code for input that can't be read or output that can't be written.</summary>
    public const int Failed = 3;

    private const int SheetSide = 8;

    /// <summary>Prints what there is.</summary>
    public static int Usage()
    {
        Console.Error.WriteLine("""
            usage:
              generate --morphable DIR --out DIR --shards N [--seed S] [--shard-records 256] [--threads T]
                       [--max-pending P] [--views-per-head V] [--kinds LIST] [--held-out] [--survey]
              layout   prints the fields of a record as JSON
              sheet    --morphable DIR --out FILE.png [--seed S] [--kinds LIST] [--views-per-head V] [--held-out] [--survey]
              bench    --morphable DIR [--heads N] [--kinds LIST] [--survey]
              import-obj --from DIR --landmarks FILE.json --out DIR
                       arrays of a morphable head from its OBJ files (one *neutral*.obj, identity000.obj ..., expressions)
            --survey: views of whole characters, busts and things from any side, for the head finder
            LIST is kind=weight,...; kinds: realistic, strong, stylised, wrong-frame, non-head
            """);
        return WrongUsage;
    }

    /// <summary>Writes shards.</summary>
    public static int Generate(ReadOnlySpan<string> words)
    {
        var options = new CommandOptions(
            words, "morphable", "out", "seed", "shard-records", "shards", "threads", "max-pending", "views-per-head", "kinds", "held-out", "survey");
        GenerationOptions generation = Read(options) with
        {
            Out = options.Required("out"),
            ShardRecords = options.Whole("shard-records", 256),
            Shards = options.Whole("shards", 1),
            Threads = options.Whole("threads", Environment.ProcessorCount),
            MaxPending = options.Whole("max-pending", 0),
        };
        MorphableModel model = Load(generation);
        var writer = new ShardWriter(generation, model);
        using var cancellation = new CancellationTokenSource();
        Console.CancelKeyPress += (_, pressed) =>
        {
            pressed.Cancel = true;
            cancellation.Cancel();
        };
        Manifest.Write(generation);
        writer.Run(Console.Error, cancellation.Token);
        return 0;
    }

    /// <summary>Prints the record layout.</summary>
    public static int Layout()
    {
        Console.WriteLine(RecordLayout.ToJson());
        return 0;
    }

    /// <summary>Draws 64 samples: FILE.png with landmarks, FILE-dense.png with classes, depth and atlas.</summary>
    public static int Sheet(ReadOnlySpan<string> words)
    {
        var options = new CommandOptions(words, "morphable", "out", "seed", "kinds", "views-per-head", "held-out", "survey");
        GenerationOptions generation = Read(options) with { ViewsPerHead = options.Whole("views-per-head", 1) };
        string path = options.Required("out");
        MorphableModel model = Load(generation);
        var generator = new ViewGenerator(generation, model, new LandmarkCarrier(model), new HeadRegions(model));
        byte[] records = new byte[SheetSide * SheetSide * RecordLayout.RecordBytes];
        for (int head = 0; head * generation.ViewsPerHead < SheetSide * SheetSide; head++)
        {
            int first = head * generation.ViewsPerHead;
            generator.Generate(head, view => first + view < SheetSide * SheetSide
                ? records.AsMemory((first + view) * RecordLayout.RecordBytes, RecordLayout.RecordBytes)
                : new byte[RecordLayout.RecordBytes]);
        }

        ContactSheet.DrawLandmarks(records, SheetSide, path);
        ContactSheet.DrawDense(records, SheetSide, Path.ChangeExtension(path, null) + "-dense.png");
        return 0;
    }

    /// <summary>Measures one thread.</summary>
    public static int Bench(ReadOnlySpan<string> words)
    {
        var options = new CommandOptions(words, "morphable", "heads", "kinds", "seed", "views-per-head", "held-out", "survey");
        GenerationOptions generation = Read(options);
        int heads = options.Whole("heads", 40);
        MorphableModel model = Load(generation);
        var generator = new ViewGenerator(generation, model, new LandmarkCarrier(model), new HeadRegions(model));
        byte[] record = new byte[RecordLayout.RecordBytes];
        const int WarmUp = 10;
        for (int head = 0; head < WarmUp; head++)
        {
            generator.Generate(head, _ => record);
        }

        // Processor time, so that other programs on the machine don't count.
        TimeSpan start = Environment.CpuUsage.TotalTime;
        for (int head = 0; head < heads; head++)
        {
            generator.Generate(WarmUp + head, _ => record);
        }

        double seconds = (Environment.CpuUsage.TotalTime - start).TotalSeconds;
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"{heads * generation.ViewsPerHead / seconds:F0} views/s of processor time, {1000 * seconds / heads:F2} ms a head of {generation.ViewsPerHead} views"));
        return 0;
    }

    /// <summary>Reads the published OBJ form of a morphable head.</summary>
    public static int ImportObj(ReadOnlySpan<string> words)
    {
        var options = new CommandOptions(words, "from", "landmarks", "out");
        (int identities, int expressions) = MorphableImporter.Import(
            options.Required("from"), options.Required("landmarks"), options.Required("out"));
        Console.Error.WriteLine($"{identities} identity modes, {expressions} expressions");
        return 0;
    }

    private static GenerationOptions Read(CommandOptions options) => new()
    {
        Morphable = options.Required("morphable"),
        Seed = (ulong)options.Whole("seed", 1),
        HeldOut = options.Has("held-out"),
        Survey = options.Has("survey"),
        ViewsPerHead = options.Whole("views-per-head", 8),
        Kinds = options.Text("kinds") is string kinds ? KindShares.Parse(kinds) : KindShares.Standard,
    };

    private static MorphableModel Load(GenerationOptions options) =>
        MorphableModel.Load(options.Morphable, MorphableLayout.FaceModelLight);
}
