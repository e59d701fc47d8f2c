using System.Globalization;
using System.Numerics;
using System.Text;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Sampling;
using AutoPlace.Verification;

namespace AutoPlace.Calibration;

/// <summary>Lets the product find the landmarks of a posed head, and writes down what it knew of them and how far they were off.</summary>
internal static class HeadTrial
{
    /// <summary>Error above which a landmark is off, interocular distances.</summary>
    private const double Off = 0.1;

    /// <summary>First line of the table of heads.</summary>
    public static string HeadColumns { get; } =
        "head,kind,found,frameError,off,offModelled,medianError," + string.Join(',', HeadFeatures.Names);

    /// <summary>First line of the table of landmarks.</summary>
    public static string LandmarkColumns { get; } =
        "head,kind,name,truth,error," + string.Join(',', LandmarkFeatures.Names);

    /// <summary>Tries one head.</summary>
    /// <param name="posed">The head.</param>
    /// <param name="network">The network.</param>
    /// <param name="chosen">Draws which landmarks are written.</param>
    /// <param name="landmarksWritten">How many landmarks are written.</param>
    /// <param name="cancellation">Stops the search for the head.</param>
    /// <returns>A line of the table of heads, and lines of the table of landmarks.</returns>
    public static (string Head, string Landmarks) Run(
        PosedHead posed, LandmarkNetwork network, SeededRandom chosen, int landmarksWritten, CancellationToken cancellation)
    {
        string key = string.Create(CultureInfo.InvariantCulture, $"{posed.Sample.Number},{posed.Sample.Kind}");
        HeadScan scan = posed.ToScan();
        var surface = ScanSurface.Of(scan, []);
        var detector = new LandmarkDetector(surface, network);
        FrameScore found;
        try
        {
            found = HeadFinder.Find(scan.Source, surface.Mesh, null, null, detector.Score, cancellation);
        }
        catch (HeadNotFoundException)
        {
            return (key + ",0,,,," + new string(',', HeadFeatures.Names.Count), "");
        }

        HeadReading read = HeadReader.Read(surface, detector, found.Refined, cancellation);
        var head = ConditionedHead.From(surface, read, symmetric: false);
        double[][] landmarks = LandmarkFeatures.Of(surface, read, head);
        double[] whole = HeadFeatures.Of(found.Agreement, read, head, landmarks);
        double[] errors = Errors(posed, head);
        return (HeadLine(key, posed, head, errors, whole), LandmarkLines(key, posed.Sample, errors, landmarks, chosen, landmarksWritten));
    }

    // Distance of each landmark from the truth in true interocular distances; NaN when there is no truth.
    private static double[] Errors(PosedHead posed, ConditionedHead head)
    {
        HeadSample sample = posed.Sample;
        return [.. head.Evidence.Landmarks.Select((l, i) => sample.States[i] == LandmarkState.Absent
            ? double.NaN
            : Vector3d.Distance(head.Frame.ToFile(l.Position), posed.ToFile(sample.Landmarks[i])) / posed.Unit)];
    }

    private static string HeadLine(string key, PosedHead posed, ConditionedHead head, double[] errors, double[] features)
    {
        var text = new StringBuilder(key).Append(",1");
        double[] known = [.. errors.Where(e => !double.IsNaN(e)).Order()];
        if (known.Length == 0)
        {
            text.Append(",,,,");
        }
        else
        {
            double[] modelled = [.. errors.Where((_, i) => posed.Sample.States[i] == LandmarkState.Modelled)];
            double frame = Math.Max(Angle(head.Frame.Up, Vector3.UnitY), Angle(head.Frame.Front, Vector3.UnitZ));
            Append(text, frame);
            Append(text, known.Count(e => e > Off) / (double)known.Length);
            Append(text, modelled.Count(e => e > Off) / (double)Math.Max(1, modelled.Length));
            Append(text, known[known.Length / 2]);
        }

        Append(text, features);
        return text.ToString();

        double Angle(Vector3d found, Vector3 truth) =>
            Math.Acos(Math.Clamp(Vector3d.Dot(found, Vector3.Transform(truth, posed.Turn)), -1, 1)) * 180 / Math.PI;
    }

    private static string LandmarkLines(
        string key, HeadSample sample, double[] errors, double[][] features, SeededRandom random, int written)
    {
        int[] order = [.. Enumerable.Range(0, errors.Length).OrderBy(_ => random.Unit()).Take(written).Order()];
        var text = new StringBuilder();
        foreach (int i in order)
        {
            text.Append(CultureInfo.InvariantCulture, $"{key},{LandmarkNames.All[i]},{(int)sample.States[i]}");
            Append(text, errors[i]);
            Append(text, features[i]);
            text.Append('\n');
        }

        return text.ToString();
    }

    private static void Append(StringBuilder text, params ReadOnlySpan<double> values)
    {
        foreach (double value in values)
        {
            text.Append(',');
            if (!double.IsNaN(value))
            {
                text.Append(value.ToString("G4", CultureInfo.InvariantCulture));
            }
        }
    }
}
