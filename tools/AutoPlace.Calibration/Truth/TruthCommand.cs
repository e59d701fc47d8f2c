using System.Collections.Concurrent;
using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;
using AutoPlace.Verification;

namespace AutoPlace.Calibration.Truth;

/// <summary>
/// Ties a rig to the vertices of the morphable head, makes templates of it on the mean and on one identity, whose mouth is
/// closed or open, and places them on identities that no model has seen, remeshed and posed anew: how near the product comes
/// where the truth is known.
/// </summary>
internal sealed class TruthCommand : IDisposable
{
    /// <summary>Stream of the heads; training and calibration draw from others.</summary>
    private const ulong TruthStream = 0x7275_7468;

    /// <summary>How far the jaw is opened, degrees.</summary>
    private const double JawDegrees = 20;

    private readonly MorphableModel _model;
    private readonly TruthRig _rig;
    private readonly PlacementPipeline _pipeline = PlacementPipeline.Open();
    private readonly ConcurrentBag<double> _skinErrors = [];
    private readonly ConcurrentBag<(string Joint, int Head, double Error, double OffPath)> _openedErrors = [];
    private readonly ConcurrentBag<(int Before, IReadOnlyList<string> Locks)> _locks = [];
    private readonly ConcurrentBag<(double Closed, double Truth, double Placed)> _cutTeeth = [];
    private readonly ulong _seed;
    private readonly int _heads;

    private TruthCommand(CommandOptions options)
    {
        _seed = (ulong)options.Whole("seed", 1);
        _heads = Math.Max(2, options.Whole("heads", 50)); // one neutral, one with an expression
        _model = MorphableModel.Load(options.Required("morphable"), MorphableLayout.FaceModelLight);
        _rig = new TruthRig(_model, new PreparedTemplate(BuiltInTemplate.Load()));
    }

    /// <summary>Runs the command and prints errors by template and region.</summary>
    /// <param name="words">Options behind the command.</param>
    public static int Run(ReadOnlySpan<string> words)
    {
        using var command = new TruthCommand(new CommandOptions(words, "morphable", "heads", "seed"));
        command.Measure();
        return 0;
    }

    /// <inheritdoc/>
    public void Dispose() => _pipeline.Dispose();

    private void Measure()
    {
        Console.WriteLine($"{_rig.Joints.Count} joints tied to the model; errors in % of the interocular distance, over {_heads} identities, every other one with an expression");
        Console.WriteLine("rig of          n     mean  median   95 %  worst   <= 5 %   turn  region: median (of it across the row), mean");
        PreparedTemplate mean = Template(TruthExpression.Neutral, isMean: true);
        (string Name, PreparedTemplate Template)[] others =
        [
            ("identity", Template(TruthExpression.Neutral, isMean: false)),
            ("open mouth", Template(TruthExpression.OpenMouth, isMean: false)),
        ];
        var errors = new ConcurrentDictionary<string, ConcurrentBag<(int Head, TruthError Error)>>();
        var missed = new ConcurrentBag<int>();
        Parallel.For(0, _heads, head =>
        {
            var random = new SeededRandom(_seed, TruthStream, (ulong)head + 2);
            Remeshing remeshing = (Remeshing)(1 + (head / 2 % 3));
            TruthExpression doing = head % 2 == 1 ? TruthExpression.Drawn : TruthExpression.Neutral;
            var truth = TruthHead.Make(_model, random, doing, isMean: false, remeshing);
            try
            {
                PlacementResult looked = _pipeline.Run(truth.Scan, PlacementOptions.Default with { Template = mean.Head, CarriesTopology = false }, CancellationToken.None);
                Rig joints = _rig.On(truth.Shape, truth.Pose);
                Add("mean", head, Compare(joints, looked.Placement, looked.Frame));
                CompareSkin(truth, looked);
                CompareOpened(head, joints, looked);
                CountLocks(joints, looked);
                foreach ((string name, PreparedTemplate other) in others)
                {
                    Add(name, head, Compare(joints, LatticeRegistration.Place(other, other.Head.Lattice, looked.Registration!).Placement, looked.Frame));
                }
            }
            catch (HeadNotFoundException)
            {
                missed.Add(head);
            }

            var same = TruthHead.Make(_model, new SeededRandom(_seed, TruthStream, (ulong)head + 2), doing, isMean: false, Remeshing.None);
            PlacementResult carried = _pipeline.Run(same.Scan, PlacementOptions.Default with { Template = mean.Head }, CancellationToken.None);
            Add("same mesh", head, Compare(_rig.On(same.Shape, same.Pose), carried.Placement, carried.Frame));
        });
        foreach (string name in (ReadOnlySpan<string>)["mean", .. others.Select(other => other.Name), "same mesh"])
        {
            Report(name, [.. errors[name].OrderBy(e => e.Head)]);
        }

        double[] skin = [.. _skinErrors.Order()];
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"skin of face and ears as the map from the atlas has it, {skin.Length} points: median {Middle(skin):0.00}, mean {skin.Average():0.00}, 95 % {Upper(skin):0.00}"));
        foreach (var joint in _openedErrors.GroupBy(e => e.Joint).OrderBy(g => g.Key, StringComparer.Ordinal))
        {
            double[] opened = [.. joint.OrderBy(e => e.Head).Select(e => e.Error)], offPath = [.. joint.Select(e => e.OffPath).Order()];
            (double Low, double High)[] between = HeadBootstrap.Intervals(opened, drawn => [Middle([.. drawn.Order()]), Upper([.. drawn.Order()])]);
            Array.Sort(opened);
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{joint.Key} with the jaw open by {JawDegrees:0} degrees, % of the face's height: median {Middle(opened):0.00} ({between[0].Low:0.00} to {between[0].High:0.00}), 95 % {Upper(opened):0.00} ({between[1].Low:0.00} to {between[1].High:0.00}), within 3 % on {opened.Count(e => e <= 3)} of {opened.Length} heads; off the true path median {Middle(offPath):0.00}, 95 % {Upper(offPath):0.00}, within 3 % on {offPath.Count(e => e <= 3)}"));
        }

        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"edges of teeth that go through the skin: {100 * _cutTeeth.Average(c => c.Closed):0.00} % with the jaw as it is, open {100 * _cutTeeth.Average(c => c.Truth):0.00} % with the true joints, {100 * _cutTeeth.Average(c => c.Placed):0.00} % as placed; more than with the true ones by over 1 % on {_cutTeeth.Count(c => c.Placed > c.Truth + 0.01)}, fewer on {_cutTeeth.Count(c => c.Placed < c.Truth - 0.01)} of {_cutTeeth.Count} heads"));

        double[] outOf = [.. _locks.Select(l => (double)l.Before).Order()], locks = [.. _locks.Select(l => (double)l.Locks.Count).Order()];
        IEnumerable<string> often = _locks.SelectMany(l => l.Locks).GroupBy(name => name).OrderByDescending(g => g.Count()).ThenBy(g => g.Key, StringComparer.Ordinal)
            .Take(10).Select(g => $"{g.Key} {g.Count()}");
        Console.WriteLine($"joints of the mean's rig out of tolerance: median {Middle(outOf)}; locks, the worst first, until none is: median {Middle(locks)}, {locks[0]} to {locks[^1]}; most often {string.Join(", ", often)}");
        TruthError[] placed = [.. errors["mean"].Select(e => e.Error)];
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture, $"radius90 of the mean's rig holds {100.0 * placed.Count(e => e.IsHeld) / placed.Length:0.0} % of its joints"));
        Console.WriteLine($"not found: {missed.Count} of {_heads}");

        void Add(string name, int head, IEnumerable<TruthError> found)
        {
            ConcurrentBag<(int, TruthError)> bag = errors.GetOrAdd(name, _ => []);
            foreach (TruthError error in found)
            {
                bag.Add((head, error));
            }
        }
    }

    private PreparedTemplate Template(TruthExpression doing, bool isMean) =>
        TruthTemplate.Make(_pipeline, _model, _rig, new SeededRandom(_seed, TruthStream, isMean ? 0u : 1u), doing, isMean);

    // What views saw of the skin, combined: each of the model's points of it, from the atlas to the head, before anything is put onto the mesh.
    private void CompareSkin(TruthHead head, PlacementResult placed)
    {
        double unit = placed.Frame.InterocularDistance / 100;
        (int first, int end) = _model.Layout.Range(Part.Face, _model.VertexCount);
        for (int v = first; v < end; v++)
        {
            Vector3d found = placed.Frame.ToFile(placed.Registration!.Warp.Apply(_model.Atlas[v]));
            _skinErrors.Add(Vector3d.Distance(found, head.Pose.Apply((Vector3d)head.Shape[v])) / unit);
        }
    }

    // How many joints a person puts where they belong, the worst first, until all are within their region's tolerance.
    private void CountLocks(Rig joints, PlacementResult placed)
    {
        Dictionary<string, Vector3d> truth = joints.Joints.ToDictionary(j => j.Name, j => j.Position, StringComparer.Ordinal);
        (int before, IReadOnlyList<string> locks) = CorrectionMeasurement.Correct(
            truth, Vector3d.Distance(truth["eye_centre_left"], truth["eye_centre_right"]), placed, []);
        _locks.Add((before, locks));
    }

    // Chin and incisors turned about the condyles as found, and about the true ones: how far apart they come to lie, and whether teeth come through lips.
    private void CompareOpened(int head, Rig joints, PlacementResult placed)
    {
        Dictionary<string, Vector3d> truth = joints.Joints.ToDictionary(j => j.Name, j => j.Position, StringComparer.Ordinal);
        Dictionary<string, Vector3d> found = placed.Placement.Joints.ToDictionary(j => j.Joint.Name, j => placed.Frame.ToFile(j.Position), StringComparer.Ordinal);
        double height = Vector3d.Distance(truth["sellion"], truth["menton"]) / 100;
        foreach (string joint in (ReadOnlySpan<string>)["menton", "incisor_lower"])
        {
            Vector3d opened = Opened(found, found[joint]);
            _openedErrors.Add((joint, head, Vector3d.Distance(opened, Opened(truth, truth[joint])) / height, OffPath(truth, truth[joint], opened) / height));
        }

        var mouth = new OpenedMouth(placed, TruthHead.Teeth, _rig.Below("jaw_hinge"));
        _cutTeeth.Add((mouth.Cut(truth, point => point), mouth.Cut(truth, point => Opened(truth, point)), mouth.Cut(found, point => Opened(found, point))));
    }

    // Turned to the subject's left about the line through both condyles (Rodrigues' formula): the front goes down.
    private static Vector3d Opened(Dictionary<string, Vector3d> joints, Vector3d point)
    {
        Vector3d hinge = joints["jaw_hinge"], axis = Axis(joints), arm = point - hinge;
        (double sine, double cosine) = Math.SinCos(double.DegreesToRadians(JawDegrees));
        return hinge + (arm * cosine) + (Vector3d.Cross(axis, arm) * sine) + (axis * (Vector3d.Dot(axis, arm) * (1 - cosine)));
    }

    // How far a place is from the circle that a point of the jaw moves on, wherever on it: a chin's point that lies elsewhere under the chin may be on it.
    private static double OffPath(Dictionary<string, Vector3d> joints, Vector3d point, Vector3d place)
    {
        (double along, double radius) = About(point);
        (double placeAlong, double placeRadius) = About(place);
        return double.Hypot(placeAlong - along, placeRadius - radius);

        (double Along, double Radius) About(Vector3d p)
        {
            Vector3d axis = Axis(joints), arm = p - joints["jaw_hinge"];
            return (Vector3d.Dot(arm, axis), Vector3d.Cross(arm, axis).Length);
        }
    }

    private static Vector3d Axis(Dictionary<string, Vector3d> joints) => (joints["condyle_left"] - joints["condyle_right"]).Normalized();

    private IEnumerable<TruthError> Compare(Rig truth, LatticePlacement placement, Conditioning.HeadFrame frame)
    {
        Dictionary<string, RigJoint> trueJoints = truth.Joints.ToDictionary(j => j.Name, StringComparer.Ordinal);
        double unit = Vector3d.Distance(trueJoints["eye_centre_left"].Position, trueJoints["eye_centre_right"].Position) / 100;
        Dictionary<string, string?> regions = _rig.Joints.ToDictionary(j => j.Name, j => j.Region, StringComparer.Ordinal);
        foreach (JointPlacement joint in placement.Joints)
        {
            RigJoint at = trueJoints[joint.Joint.Name];
            Vector3d error = (frame.ToFile(joint.Position) - at.Position) / unit;
            double? degrees = joint.Joint.RotationPolicy == RotationPolicy.TurnWithSkin
                ? Rotation3d.AngleDegrees(Export.FileCoordinates.RotationToFile(joint.Rotation, frame), at.Rotation)
                : null;
            double? across = Along(joint.Joint.Name, trueJoints) is { } along ? (error - (along * Vector3d.Dot(error, along))).Length : null;
            yield return new TruthError(at.Name, regions[at.Name] ?? "none", error.Length, across, error.Length * unit <= joint.Radius90 * frame.InterocularDistance, degrees);
        }
    }

    // Unit direction of a joint's row at its true place.
    private Vector3d? Along(string joint, Dictionary<string, RigJoint> truth)
    {
        foreach (JointSequence row in _rig.Lattice.Rows)
        {
            List<string> joints = [.. row.Joints.Where(truth.ContainsKey)];
            int i = joints.IndexOf(joint);
            if (i >= 0 && joints.Count > 2)
            {
                return (truth[joints[Math.Min(i + 1, joints.Count - 1)]].Position - truth[joints[Math.Max(i - 1, 0)]].Position).Normalized();
            }
        }

        return null;
    }

    private static void Report(string name, IReadOnlyList<(int Head, TruthError Error)> found)
    {
        double[] errors = [.. found.Select(e => e.Error.Error).Order()];
        double[] turns = [.. found.Where(e => e.Error.Degrees is not null).Select(e => e.Error.Degrees!.Value).Order()];
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"{name,-10} {errors.Length,6} {errors.Average(),8:0.00} {Middle(errors),7:0.00} {Upper(errors),6:0.00} {errors[^1],6:0.0} {100.0 * errors.Count(e => e <= 5) / errors.Length,8:0.0} {(turns.Length > 0 ? Middle(turns) : double.NaN),6:0.0}"));
        foreach (var region in found.GroupBy(e => e.Error.Joint.StartsWith("eye_centre", StringComparison.Ordinal) ? "eye centres" : e.Error.Region).OrderByDescending(g => g.Average(e => e.Error.Error)))
        {
            double[] across = [.. region.Where(e => e.Error.AcrossRow is not null).Select(e => e.Error.AcrossRow!.Value).Order()];
            var worst = region.GroupBy(e => e.Error.Joint).MaxBy(g => g.Average(e => e.Error.Error))!;
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"          {region.Key,-12} {Middle([.. region.Select(e => e.Error.Error).Order()]),6:0.00} ({(across.Length > 0 ? Middle(across) : double.NaN):0.00}), {region.Average(e => e.Error.Error):0.00}; {worst.Key} {worst.Average(e => e.Error.Error):0.00}"));
        }

        double[][] heads = [.. found.GroupBy(e => e.Head).OrderBy(g => g.Key).Select(g => g.Select(e => e.Error.Error).ToArray())];
        (double Low, double High)[] between = HeadBootstrap.Intervals(heads, drawn =>
        {
            double[] all = [.. drawn.SelectMany(e => e)];
            Array.Sort(all);
            return [all.Average(), Upper(all)];
        });
        var byHead = found.GroupBy(e => e.Head).Select(g => (g.Key, Mean: g.Average(e => e.Error.Error))).OrderByDescending(h => h.Mean).ToList();
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"          heads drawn anew: {100 * HeadBootstrap.Coverage:0} % of the means within {between[0].Low:0.00} to {between[0].High:0.00}, of the 95 % points within {between[1].Low:0.00} to {between[1].High:0.00}"));
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"          heads: neutral {byHead.Where(h => h.Key % 2 == 0).Average(h => h.Mean):0.00}, with expression {byHead.Where(h => h.Key % 2 == 1).Average(h => h.Mean):0.00}; worst {string.Join(", ", byHead.Take(3).Select(h => string.Create(CultureInfo.InvariantCulture, $"{h.Key}: {h.Mean:0.00}")))}"));
    }

    private static double Upper(double[] sorted) => sorted[sorted.Length * 95 / 100];

    private static double Middle(double[] sorted) => sorted[sorted.Length / 2];
}
