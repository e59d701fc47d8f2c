using System.Diagnostics;
using System.Globalization;
using System.IO.Compression;
using AutoPlace.Calibration.Truth;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.Calibration;

/// <summary>Records what the product knows of generated heads, and how far it is off.</summary>
internal sealed class RecordCommand : IDisposable
{
    /// <summary>Heads of calibration, apart from those of training and of its held-out measure.</summary>
    private const ulong CalibrationStream = 0x43414C494252UL, PoseStream = 0x504F5345UL, RigStream = 0x524947UL;

    private static readonly TimeSpan ReportInterval = TimeSpan.FromSeconds(10);

    private readonly ulong _seed;
    private readonly int _heads;
    private readonly TimeSpan _limit;
    private readonly TimeSpan _grace;
    private readonly KindShares _kinds;
    private readonly MorphableModel _model;
    private readonly LandmarkCarrier _carrier;
    private readonly HeadRegions _regions;
    private readonly LandmarkNetwork _network;
    private readonly SurveyNetwork _survey = SurveyNetwork.OpenDefault();
    private readonly HeadTrial _trial;
    private readonly TextWriter _headTable;
    private readonly TextWriter _landmarkTable;
    private readonly TextWriter _jointTable;
    private readonly CancellationTokenSource _overtime = new();
    private readonly Stopwatch _clock = Stopwatch.StartNew();
    private readonly Lock _writing = new();
    private TimeSpan _reported;
    private int _next;
    private int _done;
    private int _faults;
    private int _cut;

    private RecordCommand(CommandOptions options)
    {
        _seed = (ulong)options.Whole("seed", 1);
        _heads = options.Whole("heads", int.MaxValue);
        _limit = TimeSpan.FromSeconds(options.Whole("seconds", 360));
        _grace = TimeSpan.FromSeconds(options.Whole("grace", 30));
        _kinds = options.Text("kinds") is string kinds ? KindShares.Parse(kinds) : KindShares.Standard;
        _model = MorphableModel.Load(options.Required("morphable"), MorphableLayout.FaceModelLight);
        _carrier = new LandmarkCarrier(_model);
        _regions = new HeadRegions(_model);
        LandmarkModel model = options.Text("model") is string folder ? LandmarkModel.Open(folder) : LandmarkModel.OpenDefault();
        _network = model.CreateNetwork();
        var atlas = new PreparedTemplate(BuiltInTemplate.Load());
        var rig = new TruthRig(_model, atlas);
        using var pipeline = PlacementPipeline.Open(model);
        _trial = new HeadTrial(
            _network, _survey, atlas, rig, TruthTemplate.Make(pipeline, _model, rig, new SeededRandom(_seed, RigStream, 0), TruthExpression.Neutral, isMean: true),
            options.Whole("landmarks", LandmarkNames.All.Count), options.Whole("joints", 60));
        string path = options.Required("out");
        _headTable = Create(path + "-heads.csv.gz", HeadTrial.HeadColumns);
        _landmarkTable = Create(path + "-landmarks.csv.gz", HeadTrial.LandmarkColumns);
        _jointTable = Create(path + "-joints.csv.gz", HeadTrial.JointColumns);
    }

    /// <summary>Prints what there is.</summary>
    public static int Usage()
    {
        Console.Error.WriteLine("""
            usage:
              record --morphable DIR --out NAME [--model DIR] [--seed S] [--heads N] [--seconds 360] [--grace 30]
                     [--threads T] [--landmarks 63] [--joints 60] [--kinds LIST]
                     writes NAME-heads.csv.gz, NAME-landmarks.csv.gz and NAME-joints.csv.gz, of each head so many landmarks
                     and joints; no head is begun after so many seconds, those begun are cut short after so many more
              fit    --records NAME,... --model DIR --out FILE
                     fits a calibration to records of that model, and prints figures of heads that it wasn't fitted to
              shape  --morphable DIR --out FILE [--seed S] [--heads 4000]
                     measures how landmarks of generated heads lie to each other; FILE is src/AutoPlace.Core/Landmarks/landmark-shape.json
              views  --morphable DIR [--model DIR] [--seed S] [--heads 300]
                     compares sets of views by how far off landmarks are that are read off the same generated heads
              truth  --morphable DIR [--seed S] [--heads 50]
                     places a rig tied to the morphable head on identities of it, remeshed, and prints how far joints are off
            """);
        return Commands.WrongUsage;
    }

    /// <summary>Records.</summary>
    public static int Run(ReadOnlySpan<string> words)
    {
        var options = new CommandOptions(
            words, "morphable", "out", "model", "seed", "heads", "seconds", "grace", "threads", "landmarks", "joints", "kinds");
        int threads = options.Whole("threads", Environment.ProcessorCount);
        using var command = new RecordCommand(options);

        // The product's own parallel loops run on the pool; the heads' threads keep the cores busy without it.
        ThreadPool.SetMinThreads(1, 1);
        ThreadPool.SetMaxThreads(Environment.ProcessorCount, Environment.ProcessorCount);
        command._overtime.CancelAfter(command._limit + command._grace);
        Thread[] workers = [.. Enumerable.Range(0, threads).Select(_ => new Thread(command.Work, 16 << 20))];
        foreach (Thread worker in workers)
        {
            worker.Start();
        }

        foreach (Thread worker in workers)
        {
            worker.Join();
        }

        command.Report();
        return 0;
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _headTable.Dispose();
        _landmarkTable.Dispose();
        _jointTable.Dispose();
        _network.Dispose();
        _survey.Dispose();
        _overtime.Dispose();
    }

    private static StreamWriter Create(string path, string columns)
    {
        var writer = new StreamWriter(new GZipStream(File.Create(path), CompressionLevel.Optimal)) { NewLine = "\n" };
        writer.WriteLine(columns);
        return writer;
    }

    private void Work()
    {
        var builder = new HeadBuilder(_model, _carrier, _regions);
        while (_clock.Elapsed < _limit && Interlocked.Increment(ref _next) is var number && number <= _heads)
        {
            try
            {
                Try(builder, number);
            }
            catch (OperationCanceledException)
            {
                Interlocked.Increment(ref _cut);
            }
            catch (Exception e) when (e is not IOException)
            {
                // Each head is a request of its own. One that the product can't cope with is said, counted, and left out.
                Interlocked.Increment(ref _faults);
                Console.Error.WriteLine($"head {number}: {e}");
            }
        }
    }

    private void Try(HeadBuilder builder, int number)
    {
        var random = new SeededRandom(_seed, CalibrationStream, (ulong)number);
        HeadSample sample = builder.Build(number, random, _kinds.Draw(random));
        var pose = new SeededRandom(_seed, PoseStream, (ulong)number);
        (string heads, string landmarks, string joints) = _trial.Run(PosedHead.Draw(sample, pose), pose, _overtime.Token);
        lock (_writing)
        {
            _headTable.Write(heads);
            _landmarkTable.Write(landmarks);
            _jointTable.Write(joints);
            _done++;
            if (_clock.Elapsed - _reported > ReportInterval)
            {
                _reported = _clock.Elapsed;
                Report();
            }
        }
    }

    private void Report() => Console.Error.WriteLine(string.Create(
        CultureInfo.InvariantCulture,
        $"{_done} heads in {_clock.Elapsed.TotalSeconds:F0} s, {_faults} faults, {_cut} cut short"));
}
