using System.Globalization;
using System.Numerics;
using System.Text;
using AutoPlace.Calibration.Truth;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Sampling;
using AutoPlace.Verification;

namespace AutoPlace.Calibration;

/// <summary>
/// Lets the product find the landmarks of a posed head and place a rig whose true joints are known, and writes down what
/// it knew of them and how far they were off. May be used by several threads.
/// </summary>
/// <param name="network">The landmark network.</param>
/// <param name="survey">The head finder's network.</param>
/// <param name="atlas">The built-in template.</param>
/// <param name="rig">A rig tied to the model.</param>
/// <param name="template">A template of that rig.</param>
/// <param name="landmarksWritten">Of how many landmarks of a head lines are written.</param>
/// <param name="jointsWritten">Of how many joints.</param>
internal sealed class HeadTrial(
    LandmarkNetwork network, SurveyNetwork survey, PreparedTemplate atlas, TruthRig rig, PreparedTemplate template, int landmarksWritten, int jointsWritten)
{
    /// <summary>Error above which a landmark is off, interocular distances.</summary>
    private const double Off = 0.1;

    /// <summary>First line of the table of heads.</summary>
    public static string HeadColumns { get; } =
        "head,kind,place,taken,frameError,off,offSeen,medianError," + string.Join(',', HeadFeatures.Names);

    /// <summary>First line of the table of landmarks.</summary>
    public static string LandmarkColumns { get; } =
        "head,kind,name,truth,error," + string.Join(',', LandmarkFeatures.Names);

    /// <summary>First line of the table of joints.</summary>
    public static string JointColumns { get; } = "head,kind,name,error," + string.Join(',', JointFeatures.Names);

    /// <summary>Tries one head.</summary>
    /// <param name="posed">The head.</param>
    /// <param name="chosen">Draws which landmarks and joints are written.</param>
    /// <param name="cancellation">Stops the search for the head.</param>
    /// <returns>
    /// A line of the table of heads for each place that was read, the last one taken unless all were refused, or one
    /// without values when nothing looked like a head; and lines of the tables of landmarks and joints, as read at the
    /// place taken.
    /// </returns>
    public (string Heads, string Landmarks, string Joints) Run(PosedHead posed, SeededRandom chosen, CancellationToken cancellation)
    {
        string key = string.Create(CultureInfo.InvariantCulture, $"{posed.Sample.Number},{posed.Sample.Kind}");
        HeadScan scan = posed.ToScan();
        var surface = ScanSurface.Of(scan, []);
        var detector = new LandmarkDetector(surface, network);
        var heads = new StringBuilder();
        int place = 0;
        foreach (FrameScore found in Places(scan, surface, detector, cancellation))
        {
            HeadReading read = HeadReader.Read(surface, detector, found, atlas.MeanFace, cancellation);
            var head = ConditionedHead.From(surface, read, symmetric: false);
            var surroundings = new HeadSurroundings(head.Evidence);
            double[][] landmarks = LandmarkFeatures.Of(surface, read, head, surroundings);
            double[] errors = Errors(posed, head);
            bool taken = read.Likeness >= HeadReading.LeastLikeness;
            heads.Append(CultureInfo.InvariantCulture, $"{key},{place++},{(taken ? 1 : 0)}");
            AppendHead(heads, posed, head, errors, HeadFeatures.Of(found.Agreement, read, head, landmarks));
            if (taken)
            {
                string landmarkLines = LandmarkLines(key, posed.Sample, errors, landmarks, chosen);
                return (heads.ToString(), landmarkLines, JointLines(key, posed, head, surroundings, chosen));
            }
        }

        return (place > 0 ? heads.ToString() : $"{key},0,0,,,,{new string(',', HeadFeatures.Names.Count)}\n", "", "");
    }

    private IEnumerable<FrameScore> Places(
        HeadScan scan, ScanSurface surface, LandmarkDetector detector, CancellationToken cancellation)
    {
        using IEnumerator<FrameScore> places =
            HeadFinder.Find(scan.Source, surface.Mesh, null, null, detector.Score, Propose, cancellation).GetEnumerator();
        while (Next())
        {
            yield return places.Current;
        }

        IReadOnlyList<HeadFrame> Propose(CancellationToken stop) => HeadSurvey.Propose(surface, survey, stop);

        bool Next()
        {
            try
            {
                return places.MoveNext();
            }
            catch (HeadNotFoundException)
            {
                return false;
            }
        }
    }

    // Distance of each landmark from the truth in true interocular distances; NaN when there is no truth.
    private static double[] Errors(PosedHead posed, ConditionedHead head)
    {
        HeadSample sample = posed.Sample;
        return [.. head.Evidence.Landmarks.Select((l, i) => sample.States[i] == LandmarkState.Absent
            ? double.NaN
            : Vector3d.Distance(head.Frame.ToFile(l.Position), posed.ToFile(sample.Landmarks[i])) / posed.Pose.Unit)];
    }

    private static void AppendHead(StringBuilder text, PosedHead posed, ConditionedHead head, double[] errors, double[] features)
    {
        double[] known = [.. errors.Where(e => !double.IsNaN(e)).Order()];
        if (known.Length == 0)
        {
            text.Append(",,,,");
        }
        else
        {
            double[] seen = [.. errors.Where((e, i) => !double.IsNaN(e) && head.Evidence.Landmarks[i].Source != LandmarkSource.Inferred)];
            Append(
                text,
                Math.Max(Angle(head.Frame.Up, Vector3.UnitY), Angle(head.Frame.Front, Vector3.UnitZ)),
                known.Count(e => e > Off) / (double)known.Length,
                seen.Count(e => e > Off) / (double)Math.Max(1, seen.Length),
                known[known.Length / 2]);
        }

        Append(text, features);
        text.Append('\n');

        double Angle(Vector3d found, Vector3 truth) =>
            Math.Acos(Math.Clamp(Vector3d.Dot(found, Vector3.Transform(truth, posed.Pose.Turn)), -1, 1)) * 180 / Math.PI;
    }

    private string LandmarkLines(string key, HeadSample sample, double[] errors, double[][] features, SeededRandom random)
    {
        var text = new StringBuilder();
        foreach (int i in Some(errors.Length, landmarksWritten, random))
        {
            text.Append(CultureInfo.InvariantCulture, $"{key},{LandmarkNames.All[i]},{(int)sample.States[i]}");
            Append(text, errors[i]);
            Append(text, features[i]);
            text.Append('\n');
        }

        return text.ToString();
    }

    private string JointLines(string key, PosedHead posed, ConditionedHead head, HeadSurroundings surroundings, SeededRandom random)
    {
        if (posed.Sample.Kind == HeadKind.NonHead)
        {
            return "";
        }

        HeadRegistration registration = LatticeRegistration.Register(atlas, head);
        IReadOnlyList<JointPlacement> placed = LatticeRegistration.Place(template, template.Head.Lattice, registration).Placement.Joints;
        double[][] features = JointFeatures.Of(placed, head.Evidence.Landmarks, surroundings);
        Vector3d?[] truth = SampleJoints.On(posed.Sample, rig);
        Dictionary<string, int> index = placed.Index().ToDictionary(j => j.Item.Joint.Name, j => j.Index, StringComparer.Ordinal);
        var text = new StringBuilder();
        foreach (int t in Some(truth.Length, jointsWritten, random))
        {
            if (truth[t] is { } at)
            {
                int j = index[rig.Joints[t].Name];
                text.Append(CultureInfo.InvariantCulture, $"{key},{rig.Joints[t].Name}");
                Append(text, Vector3d.Distance(head.Frame.ToFile(placed[j].Position), posed.ToFile((Vector3)at)) / posed.Pose.Unit);
                Append(text, features[j]);
                text.Append('\n');
            }
        }

        return text.ToString();
    }

    private static int[] Some(int count, int written, SeededRandom random) =>
        [.. Enumerable.Range(0, count).OrderBy(_ => random.Unit()).Take(written).Order()];

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
