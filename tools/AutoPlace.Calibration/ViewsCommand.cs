using System.Collections.Concurrent;
using System.Globalization;
using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Rendering;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.Calibration;

/// <summary>
/// Compares sets of views: how far off landmarks are that are read off the same generated heads, in the same frames, by
/// fewer, more and other views than the product's own. Frames are the true ones, off by about what the product's are.
/// </summary>
internal sealed class ViewsCommand : IDisposable
{
    /// <summary>Heads of this measure, apart from those of training, calibration and the held-out figures.</summary>
    private const ulong ViewsStream = 0x5649455753UL;

    /// <summary>Yaw from which on a view from the subject's right is shown to the network mirrored, degrees.</summary>
    private const float Mirrored = 6;

    /// <summary>Size of a nearer view over that of a close one: as near as the network was trained to see.</summary>
    private const float NearerSize = 0.85f;

    /// <summary>How far a frame is off at most: degrees about each axis, interocular distances along each, and share of the unit.</summary>
    private const float FrameTurn = 3, FramePlace = 0.05f, FrameUnit = 0.04f;

    private static readonly OrthographicView[] Looks =
    [
        Whole(0), Whole(35), Whole(-35), Close(0), Close(35), Close(-35),
        Whole(70), Whole(-70), Whole(0, 25), Whole(0, -25), Close(-Mirrored), Nearer(0), Nearer(35), Nearer(-35),
    ];

    private static readonly (string Name, int[] Looks)[] Sets =
    [
        ("as the product", [0, 1, 2, 3, 4, 5]),
        ("front alone", [0]),
        ("no close ones", [0, 1, 2]),
        ("no whole ones", [3, 4, 5]),
        ("one whole one", [0, 3, 4, 5]),
        ("one close one", [0, 1, 2, 3]),
        ("70 degrees besides", [0, 1, 2, 3, 4, 5, 6, 7]),
        ("70 for the front", [1, 2, 6, 7, 3, 4, 5]),
        ("from above besides", [0, 1, 2, 3, 4, 5, 8]),
        ("from below besides", [0, 1, 2, 3, 4, 5, 9]),
        ("mirrored close besides", [0, 1, 2, 3, 4, 5, 10]),
        ("nearer for close", [0, 1, 2, 11, 12, 13]),
        ("nearer besides", [0, 1, 2, 3, 4, 5, 11]),
        ("all of them", [.. Enumerable.Range(0, 14)]),
    ];

    private readonly ulong _seed;
    private readonly MorphableModel _model;
    private readonly LandmarkCarrier _carrier;
    private readonly HeadRegions _regions;
    private readonly LandmarkNetwork _network;
    private readonly ConcurrentBag<(int Set, HeadKind Kind, double Error)> _errors = [];

    private ViewsCommand(CommandOptions options)
    {
        _seed = (ulong)options.Whole("seed", 1);
        _model = MorphableModel.Load(options.Required("morphable"), MorphableLayout.FaceModelLight);
        _carrier = new LandmarkCarrier(_model);
        _regions = new HeadRegions(_model);
        _network = (options.Text("model") is string folder ? LandmarkModel.Open(folder) : LandmarkModel.OpenDefault()).CreateNetwork();
    }

    /// <summary>Runs the command and prints errors by set of views.</summary>
    /// <param name="words">Options behind the command.</param>
    public static int Run(ReadOnlySpan<string> words)
    {
        var options = new CommandOptions(words, "morphable", "model", "seed", "heads");
        using var command = new ViewsCommand(options);
        int heads = options.Whole("heads", 300);
        Parallel.For(
            0, heads, () => new HeadBuilder(command._model, command._carrier, command._regions),
            (i, _, builder) =>
            {
                command.Look(builder, i);
                return builder;
            },
            _ => { });
        command.Report();
        return 0;
    }

    /// <inheritdoc/>
    public void Dispose() => _network.Dispose();

    private static OrthographicView Whole(float yaw, float pitch = 0) =>
        OrthographicView.Around(ViewRing.WholeCentre, yaw, pitch, ViewRing.WholeHalfSize, ViewRing.InputSize);

    private static OrthographicView Close(float yaw) =>
        OrthographicView.Around(ViewRing.CloseCentre, yaw, 0, ViewRing.CloseHalfSize, ViewRing.InputSize);

    private static OrthographicView Nearer(float yaw) =>
        OrthographicView.Around(ViewRing.CloseCentre, yaw, 0, ViewRing.CloseHalfSize * NearerSize, ViewRing.InputSize);

    private void Look(HeadBuilder builder, int number)
    {
        var random = new SeededRandom(_seed, ViewsStream, (ulong)number);
        HeadSample sample = builder.Build(number, random, KindShares.Standard.Draw(random));
        if (sample.Kind == HeadKind.NonHead)
        {
            return;
        }

        PosedHead posed = PosedHead.Draw(sample, random);
        var surface = ScanSurface.Of(posed.ToScan(), []);
        HeadFrame frame = Frame(posed, random);
        IReadOnlyList<ViewObservation> seen = new LandmarkDetector(surface, _network).Observe(frame, Looks, CancellationToken.None);
        for (int s = 0; s < Sets.Length; s++)
        {
            HeadReading read = HeadReader.Of(surface, frame, [.. Sets[s].Looks.Select(i => seen[i])]);
            var head = ConditionedHead.From(surface, read, symmetric: false);
            foreach ((Landmark landmark, int i) in head.Evidence.Landmarks.Select((l, i) => (l, i)))
            {
                if (sample.States[i] != LandmarkState.Absent)
                {
                    _errors.Add((s, sample.Kind, Vector3d.Distance(head.Frame.ToFile(landmark.Position), posed.ToFile(sample.Landmarks[i])) / posed.Pose.Unit));
                }
            }
        }
    }

    private static HeadFrame Frame(PosedHead posed, SeededRandom random)
    {
        float Angle() => random.Uniform(-FrameTurn, FrameTurn) * MathF.PI / 180;
        float Place() => random.Uniform(-FramePlace, FramePlace);
        Quaternion turn = posed.Pose.Turn * Quaternion.CreateFromYawPitchRoll(Angle(), Angle(), Angle());
        return new HeadFrame(
            posed.ToFile(new Vector3(Place(), Place(), Place())),
            Vector3.Transform(Vector3.UnitX, turn), Vector3.Transform(Vector3.UnitY, turn), Vector3.Transform(Vector3.UnitZ, turn),
            posed.Pose.Unit * random.LogUniform(1 - FrameUnit, 1 + FrameUnit));
    }

    private void Report()
    {
        Console.WriteLine("errors of landmarks, % of the true interocular distance: median / mean / share over 10 %");
        Console.WriteLine("views                    count  all                   realistic            strongly warped      stylised");
        foreach (var set in _errors.GroupBy(e => e.Set).OrderBy(g => g.Key))
        {
            string kinds = string.Join("  ", new HeadKind?[] { null, HeadKind.Realistic, HeadKind.StrongWarp, HeadKind.Stylised }
                .Select(kind => Figures([.. set.Where(e => kind is null || e.Kind == kind).Select(e => e.Error * 100).Order()])));
            Console.WriteLine($"{Sets[set.Key].Name,-24} {Sets[set.Key].Looks.Length,5}  {kinds}");
        }
    }

    private static string Figures(double[] sorted) => sorted.Length == 0
        ? "none"
        : string.Create(CultureInfo.InvariantCulture, $"{sorted[sorted.Length / 2],4:0.00} /{sorted.Average(),5:0.00} /{100.0 * sorted.Count(e => e > 10) / sorted.Length,5:0.0}  ");
}
