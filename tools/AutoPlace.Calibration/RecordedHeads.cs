using System.Globalization;
using System.IO.Compression;
using AutoPlace.Landmarks;
using AutoPlace.Verification;

namespace AutoPlace.Calibration;

/// <summary>A place that was read.</summary>
/// <param name="Head">Name of the generated head, unique among the records.</param>
/// <param name="Number">Its number, which decides what it is used for.</param>
/// <param name="Kind">What it is.</param>
/// <param name="IsTaken">Whether the product took the place for a head.</param>
/// <param name="FrameError">Larger angle between up or front as found and in truth, degrees; NaN of what is no head.</param>
/// <param name="Off">Share of landmarks, of those whose place is known, that are off.</param>
/// <param name="OffSeen">The same of those that the product says it has seen.</param>
/// <param name="Features">Its <see cref="HeadFeatures"/>; none when nothing looked like a head.</param>
internal sealed record ReadPlace(string Head, int Number, string Kind, bool IsTaken, double FrameError, double Off, double OffSeen, double[] Features)
{
    /// <summary>Angle of up or front from which on a frame is wrong, degrees.</summary>
    private const double WrongFrame = 20;

    /// <summary>A head is misunderstood when more of its landmarks than this are off.</summary>
    private const double MostOff = 0.1;

    /// <summary>True when the head was misunderstood.</summary>
    public bool HasFailed => FrameError > WrongFrame || Off > MostOff;

    /// <summary>True when it was misunderstood where the product says that it saw what it gives, not only where it guesses what is hidden.</summary>
    public bool HasFailedWhereSeen => FrameError > WrongFrame || OffSeen > MostOff;

    /// <summary>True unless the file shows no head.</summary>
    public bool IsOfHead => Kind != nameof(TrainingData.HeadKind.NonHead);
}

/// <summary>A landmark that was read.</summary>
/// <param name="Place">The place that was taken.</param>
/// <param name="Landmark">Number in the network's order.</param>
/// <param name="IsModelled">False where the head has no such feature but its place can be told.</param>
/// <param name="Error">Distance from the truth, true interocular distances; NaN where there is none.</param>
/// <param name="Features">Its <see cref="LandmarkFeatures"/>.</param>
internal sealed record ReadLandmark(ReadPlace Place, int Landmark, bool IsModelled, double Error, double[] Features)
{
    /// <summary>True unless the landmark's place can't be told.</summary>
    public bool IsKnown => !double.IsNaN(Error);
}

/// <summary>A joint that was placed.</summary>
/// <param name="Place">The place that was taken.</param>
/// <param name="Name">Its name.</param>
/// <param name="Error">Distance from the truth, true interocular distances.</param>
/// <param name="Features">Its <see cref="JointFeatures"/>.</param>
internal sealed record PlacedJoint(ReadPlace Place, string Name, double Error, double[] Features);

/// <summary>What "record" wrote.</summary>
/// <param name="Places">All places that were read; of what had none, one without features.</param>
/// <param name="Landmarks">Landmarks of the places that were taken.</param>
/// <param name="Joints">Joints of those.</param>
internal sealed record RecordedHeads(IReadOnlyList<ReadPlace> Places, IReadOnlyList<ReadLandmark> Landmarks, IReadOnlyList<PlacedJoint> Joints)
{
    /// <summary>Reads records.</summary>
    /// <param name="names">What "record" was given as --out.</param>
    public static RecordedHeads Read(IEnumerable<string> names)
    {
        var places = new List<ReadPlace>();
        var landmarks = new List<ReadLandmark>();
        var joints = new List<PlacedJoint>();
        foreach (string name in names)
        {
            List<ReadPlace> own = [.. Rows(name + "-heads.csv.gz", HeadFeatures.Names).Select(r => new ReadPlace(
                $"{name} {r.Text("head")}", int.Parse(r.Text("head"), CultureInfo.InvariantCulture), r.Text("kind"),
                r.Text("taken") == "1", r.Number("frameError"), r.Number("off"), r.Number("offSeen"), r.Features()))];
            Dictionary<int, ReadPlace> taken = own.Where(p => p.IsTaken).ToDictionary(p => p.Number);
            places.AddRange(own);
            landmarks.AddRange(Rows(name + "-landmarks.csv.gz", LandmarkFeatures.Names).Select(r =>
                new ReadLandmark(
                    taken[int.Parse(r.Text("head"), CultureInfo.InvariantCulture)], LandmarkNames.IndexOf(r.Text("name")),
                    r.Text("truth") == "2", r.Number("error"), r.Features())));
            joints.AddRange(Rows(name + "-joints.csv.gz", JointFeatures.Names).Select(r => new PlacedJoint(
                taken[int.Parse(r.Text("head"), CultureInfo.InvariantCulture)], r.Text("name"), r.Number("error"), r.Features())));
        }

        return new RecordedHeads(places, landmarks, joints);
    }

    private static IEnumerable<Row> Rows(string path, IReadOnlyList<string> features)
    {
        using var reader = new StreamReader(new GZipStream(File.OpenRead(path), CompressionMode.Decompress));
        string[] columns = (reader.ReadLine() ?? throw new FormatException($"{path} is empty")).Split(',');
        Dictionary<string, int> at = columns.Index().ToDictionary(c => c.Item, c => c.Index);
        if (features.FirstOrDefault(f => !at.ContainsKey(f)) is { } missing)
        {
            throw new FormatException($"{path} has no column '{missing}'");
        }

        int[] order = [.. features.Select(f => at[f])];
        while (reader.ReadLine() is { } line)
        {
            yield return new Row(line.Split(','), at, order);
        }
    }

    private sealed record Row(string[] Values, Dictionary<string, int> At, int[] FeatureOrder)
    {
        public string Text(string column) => Values[At[column]];

        public double Number(string column) => Text(column) is { Length: > 0 } text ? double.Parse(text, CultureInfo.InvariantCulture) : double.NaN;

        public double[] Features() => Values[FeatureOrder[0]].Length == 0
            ? []
            : [.. FeatureOrder.Select(c => double.Parse(Values[c], CultureInfo.InvariantCulture))];
    }
}
