using System.Diagnostics;
using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>
/// How much is left for a person: the joint that is worst for its tolerance is put where it belongs and locked, the
/// rest follows, and so on until every joint is within its tolerance. Beside it what a person gains who doesn't know
/// which joint is worst, and looks at them in the order that the product offers.
/// </summary>
internal static class CorrectionMeasurement
{
    /// <summary>How many joints the person looks at.</summary>
    private const int Looks = 15;

    /// <summary>Place of the product's order among <see cref="Orders"/>.</summary>
    private const int AsOffered = 1;

    /// <summary>Heads that the spread's constants were chosen on.</summary>
    private static readonly string[] ChosenOn = ["brannoc", "lysk", "osric", "tibb"];

    /// <summary>Prints the locks that each head takes; returns 0, or 1 when a head couldn't be placed.</summary>
    /// <param name="folder">Folder of heads with a NAME.joints.json.</param>
    /// <param name="listed">True to name every lock.</param>
    public static int Run(string folder, bool listed)
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        var counts = new List<(string Name, int Locks)>();
        var times = new List<double>();
        int failed = 0;
        var left = new List<double[]>();
        var held = new List<(double First, double Looked)>();
        Console.WriteLine($"head      out of tolerance   locks until none is   of joints   mean error, %: at first   after {Looks} locks: worst first, as offered, by radius, in no order");
        foreach (TruthFile truth in TruthFile.ReadAll(folder))
        {
            try
            {
                PlacementResult result = pipeline.Run(MeshReader.Read(truth.MeshPath), PlacementOptions.Default, CancellationToken.None);
                (int before, IReadOnlyList<string> locks) = Correct(truth.Joints, truth.InterocularDistance, result, times);
                counts.Add((truth.Name, locks.Count));
                LatticePlacement[] looked = [.. Orders(truth, result).Select(order => Looked(truth, result, order))];
                double[] means = [MeanError(truth, result, result.Placement), .. looked.Select(placement => MeanError(truth, result, placement))];
                left.Add(means);
                held.Add((Held(truth, result, result.Placement), Held(truth, result, looked[AsOffered])));
                Console.WriteLine(string.Create(
                    CultureInfo.InvariantCulture,
                    $"{truth.Name,-8} {before,17} {locks.Count,21} {result.Placement.Joints.Count,11} {means[0],26:0.00} {means[1],28:0.00} {means[2],11:0.00} {means[3],10:0.00} {means[4],12:0.00}"));
                if (listed)
                {
                    Console.WriteLine($"  {string.Join(", ", locks)}");
                }
            }
            catch (PlacementException unplaced)
            {
                Console.WriteLine($"{truth.Name}: {unplaced.Message}");
                failed++;
            }
        }

        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture,
            $"median {Median(counts.Select(c => (double)c.Locks))}; of the heads that the spread was chosen on {Median(Some(true))}, of the others {Median(Some(false))}"));
        if (left.Count > 0)
        {
            double[] gone = [.. Enumerable.Range(1, 4).Select(i => 100 * left.Average(m => 1 - (m[i] / m[0])))];
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"of the mean error {Looks} locks take off: worst first {gone[0]:0} %, as offered {gone[1]:0} %, by radius {gone[2]:0} %, in no order {gone[3]:0} %"));
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"radius90 holds {100 * held.Average(h => h.First):0} % of the joints at first, {100 * held.Average(h => h.Looked):0} % of those that {Looks} locks as offered left open"));
        }

        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"time of one solution: median {Median(times):0.00} ms, longest {times.DefaultIfEmpty().Max():0.00} ms"));
        return failed > 0 ? 1 : 0;

        IEnumerable<double> Some(bool chosen) => counts.Where(c => ChosenOn.Contains(c.Name) == chosen).Select(c => (double)c.Locks);
    }

    /// <summary>Corrects a placement until every joint is within its tolerance.</summary>
    /// <param name="truth">True positions by name, in the file's coordinates; joints without one stay.</param>
    /// <param name="interocularDistance">True distance between the eyes' centres, in the file's unit.</param>
    /// <param name="result">The placement.</param>
    /// <param name="times">Receives the milliseconds of every solution.</param>
    /// <returns>How many joints were out of tolerance at first, and those that were locked, in sequence.</returns>
    public static (int Before, IReadOnlyList<string> Locks) Correct(
        IReadOnlyDictionary<string, Vector3d> truth, double interocularDistance, PlacementResult result, List<double> times)
    {
        double scale = result.Frame.InterocularDistance / interocularDistance;
        Dictionary<string, (Vector3d At, Vector3d Normal)> goals = truth.ToDictionary(joint => joint.Key, joint =>
        {
            Vector3d at = result.Frame.ToHead(joint.Value);
            return (at, RegionalTolerance.NormalAt(result.Skin, at));
        });
        CorrectableHead head = result.Correctable!;
        Revision revision = Revision.First(head);
        int before = revision.Placement.Joints.Count(joint => Excess(joint) > 1);
        var locks = new List<string>();
        while (revision.Placement.Joints.Where(joint => !joint.PositionLocked).MaxBy(Excess) is { } worst && Excess(worst) > 1)
        {
            string name = worst.Joint.Name;
            revision = revision.After(new MoveJoint(name, goals[name].At));
            locks.Add(name);
            long begin = Stopwatch.GetTimestamp();
            head.Solve(revision.Corrections);
            times.Add(Stopwatch.GetElapsedTime(begin).TotalMilliseconds);
        }

        return (before, locks);

        double Excess(JointPlacement joint) => goals.TryGetValue(joint.Joint.Name, out (Vector3d At, Vector3d Normal) goal)
            ? RegionalTolerance.Of(joint.Joint).Excess((joint.Position - goal.At) * scale, goal.Normal)
            : 0;
    }

    // Ways to choose the joint to look at next.
    private static IEnumerable<Func<LatticePlacement, string?>> Orders(TruthFile truth, PlacementResult result)
    {
        IEnumerable<JointPlacement> Open(LatticePlacement placement) => placement.Joints.Where(j => !j.PositionLocked && j.State != JointState.Absent && truth.Joints.ContainsKey(j.Joint.Name));
        var shuffled = new Random(1);
        Dictionary<string, int> order = result.Placement.Joints.ToDictionary(j => j.Joint.Name, _ => shuffled.Next(), StringComparer.Ordinal);
        yield return placement => Open(placement).MaxBy(j => Vector3d.Distance(result.Frame.ToFile(j.Position), truth.Joints[j.Joint.Name]))?.Joint.Name;
        yield return placement => LookGain.Of(placement).FirstOrDefault(gain => truth.Joints.ContainsKey(gain.Joint))?.Joint;
        yield return placement => Open(placement).MaxBy(j => j.Radius90)?.Joint.Name;
        yield return placement => Open(placement).MinBy(j => order[j.Joint.Name])?.Joint.Name;
    }

    // The placement after so many joints were put where they belong.
    private static LatticePlacement Looked(TruthFile truth, PlacementResult result, Func<LatticePlacement, string?> next)
    {
        Revision revision = Revision.First(result.Correctable!);
        LatticePlacement placement = result.Placement;
        for (int look = 0; look < Looks && next(placement) is { } name; look++)
        {
            revision = revision.After(new MoveJoint(name, result.Frame.ToHead(truth.Joints[name])));
            placement = result.Confidence!.Calibrated(revision.Placement);
        }

        return placement;
    }

    // Share of the joints that aren't set whose true place lies within their radius.
    private static double Held(TruthFile truth, PlacementResult result, LatticePlacement placement) => placement.Joints
        .Where(j => !j.PositionLocked && j.Radius90 > 0 && truth.Joints.ContainsKey(j.Joint.Name))
        .Average(j => Vector3d.Distance(j.Position, result.Frame.ToHead(truth.Joints[j.Joint.Name])) <= j.Radius90 ? 1.0 : 0.0);

    private static double MeanError(TruthFile truth, PlacementResult result, LatticePlacement placement) => placement.Joints
        .Where(j => truth.Joints.ContainsKey(j.Joint.Name))
        .Average(j => 100 / truth.InterocularDistance * Vector3d.Distance(result.Frame.ToFile(j.Position), truth.Joints[j.Joint.Name]));

    private static double Median(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return sorted.Length == 0 ? double.NaN : (sorted[(sorted.Length - 1) / 2] + sorted[sorted.Length / 2]) / 2;
    }
}
