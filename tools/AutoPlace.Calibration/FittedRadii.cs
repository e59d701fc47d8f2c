using AutoPlace.Verification;

namespace AutoPlace.Calibration;

/// <summary>Radii that were fitted to some heads.</summary>
/// <param name="Landmarks">Those of landmarks.</param>
/// <param name="Joints">Those of joints.</param>
internal sealed record FittedRadii(RadiusCalibration Landmarks, ConformalRadii Joints)
{
    private static readonly string[] Rides = ["skin", "eyes", "teeth", "tongue", "hinge", "inner"];

    private static readonly int Ride = JointFeatures.Names.Index().First(n => n.Item == "ride").Index;

    /// <summary>What they say of other heads.</summary>
    public TestedHeads Test(RecordedHeads records, Func<ReadPlace, bool> tested)
    {
        var heads = new List<TestedHead>();
        var landmarks = new List<TestedRadius>();
        foreach (IGrouping<ReadPlace, ReadLandmark> head in records.Landmarks.Where(l => tested(l.Place)).GroupBy(l => l.Place))
        {
            double[] expected = [.. head.Select(l => Landmarks.ExpectedLogError(l.Landmark, l.Features, l.Place.Features))];
            heads.Add(new TestedHead(head.Key, expected));
            landmarks.AddRange(head.Zip(expected).Where(l => l.First.IsKnown).Select(l => new TestedRadius(
                head.Key.Head, head.Key.Kind, l.First.IsModelled ? "modelled" : "not modelled", l.First.Error, Landmarks.Errors.Radius90(l.Second))));
        }

        return new TestedHeads(heads, landmarks, [.. records.Joints.Where(j => tested(j.Place)).Select(j => new TestedRadius(
            j.Place.Head, j.Place.Kind, Rides[(int)j.Features[Ride]], j.Error, Joints.Radius90(Joints.LogError.Evaluate(JointFeatures.Inputs(j.Features, j.Place.Features)))))]);
    }
}

/// <summary>Heads and what is said of them by radii that were fitted to others.</summary>
/// <param name="Heads">The heads.</param>
/// <param name="Landmarks">Their landmarks whose place is known.</param>
/// <param name="Joints">Their joints.</param>
internal sealed record TestedHeads(IReadOnlyList<TestedHead> Heads, IReadOnlyList<TestedRadius> Landmarks, IReadOnlyList<TestedRadius> Joints)
{
    /// <summary>Several together.</summary>
    public static TestedHeads Joined(IEnumerable<TestedHeads> tests)
    {
        TestedHeads[] all = [.. tests];
        return new([.. all.SelectMany(t => t.Heads)], [.. all.SelectMany(t => t.Landmarks)], [.. all.SelectMany(t => t.Joints)]);
    }
}

/// <summary>A head and what is expected of it.</summary>
/// <param name="Place">Where it was read.</param>
/// <param name="ExpectedLogErrors">Of its landmarks that were recorded, the logarithms of the expected errors.</param>
internal sealed record TestedHead(ReadPlace Place, IReadOnlyList<double> ExpectedLogErrors);

/// <summary>A radius and the error that it ought to hold, interocular distances.</summary>
/// <param name="Head">Its head.</param>
/// <param name="Kind">What its head is.</param>
/// <param name="Group">What it belongs to.</param>
/// <param name="Error">The error.</param>
/// <param name="Radius">The radius.</param>
internal readonly record struct TestedRadius(string Head, string Kind, string Group, double Error, double Radius);
