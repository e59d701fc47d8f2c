using System.Diagnostics;
using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>
/// How much is left for a person: the joint that is worst for its tolerance is put where it belongs and locked, the
/// rest follows, and so on until every joint is within its tolerance.
/// </summary>
internal static class CorrectionMeasurement
{
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
        Console.WriteLine("head      out of tolerance   locks until none is   of joints");
        foreach (TruthFile truth in TruthFile.ReadAll(folder))
        {
            try
            {
                PlacementResult result = pipeline.Run(MeshReader.Read(truth.MeshPath), PlacementOptions.Default, CancellationToken.None);
                (int before, IReadOnlyList<string> locks) = Correct(truth, result, times);
                counts.Add((truth.Name, locks.Count));
                Console.WriteLine($"{truth.Name,-8} {before,17} {locks.Count,21} {result.Placement.Joints.Count,11}");
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
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"time of one solution: median {Median(times):0.00} ms, longest {times.DefaultIfEmpty().Max():0.00} ms"));
        return failed > 0 ? 1 : 0;

        IEnumerable<double> Some(bool chosen) => counts.Where(c => ChosenOn.Contains(c.Name) == chosen).Select(c => (double)c.Locks);
    }

    /// <summary>Corrects a placement until every joint is within its tolerance.</summary>
    /// <param name="truth">The truth.</param>
    /// <param name="result">The placement.</param>
    /// <param name="times">Receives the milliseconds of every solution.</param>
    /// <returns>How many joints were out of tolerance at first, and those that were locked, in sequence.</returns>
    public static (int Before, IReadOnlyList<string> Locks) Correct(TruthFile truth, PlacementResult result, List<double> times)
    {
        double scale = result.Frame.InterocularDistance / truth.InterocularDistance;
        Dictionary<string, (Vector3d At, Vector3d Normal)> goals = truth.Joints.ToDictionary(joint => joint.Key, joint =>
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

    private static double Median(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return sorted.Length == 0 ? double.NaN : (sorted[(sorted.Length - 1) / 2] + sorted[sorted.Length / 2]) / 2;
    }
}
