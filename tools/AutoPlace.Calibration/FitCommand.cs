using System.Diagnostics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData;
using AutoPlace.Verification;

namespace AutoPlace.Calibration;

/// <summary>Fits a calibration to records, and prints what it's worth on heads that it wasn't fitted to.</summary>
internal static class FitCommand
{
    /// <summary>Parts into which heads are told apart by their number; the last conforms, the others teach.</summary>
    private const int Parts = 5;

    /// <summary>Fits.</summary>
    public static int Run(ReadOnlySpan<string> words)
    {
        var options = new CommandOptions(words, "records", "model", "out");
        LandmarkModel model = LandmarkModel.Open(options.Required("model"));
        RecordedHeads records = RecordedHeads.Read(options.Required("records").Split(','));
        var clock = Stopwatch.StartNew();
        ILookup<int, ReadLandmark> parts = records.Landmarks.ToLookup(l => l.Place.Number % Parts);

        // Each part is tested once, by what three others taught and the fourth conformed.
        var tests = new List<TestedHead>();
        for (int tested = 0; tested < Parts; tested++)
        {
            int conforming = (tested + 1) % Parts;
            RadiusCalibration radii = RadiusFit.Of(
                records.Landmarks.Where(l => l.Place.Number % Parts != tested && l.Place.Number % Parts != conforming), parts[conforming]);
            tests.AddRange(parts[tested].GroupBy(l => l.Place).Select(head => TestedHead.Of(head, radii)));
        }

        var failure = ClassifierFit.Of(
            [.. tests.Select(t => t.Place)],
            [.. tests.Select(t => ConfidenceCalibration.FailureInputs(t.Place.Features, t.ExpectedLogErrors))],
            [.. tests.Select(t => t.Place.HasFailed)]);
        var calibration = new ConfidenceCalibration
        {
            ModelSha256 = model.Sha256,
            Radii = RadiusFit.Of(parts.Where(p => p.Key != Parts - 1).SelectMany(p => p), parts[Parts - 1]),
            Failure = failure.Classifier,
        };

        var report = new FitReport(Console.Out);
        report.Radii(tests);
        report.Failures([.. tests.Select(t => t.Place)], failure.Probabilities);
        report.Heads(records.Places);
        byte[] json = CalibrationFile.Write(calibration);
        File.WriteAllBytes(options.Required("out"), json);
        Console.Error.WriteLine($"{json.Length} bytes, fitted in {clock.Elapsed.TotalSeconds:F0} s");
        return 0;
    }
}

/// <summary>A head and what is said of it by a calibration that doesn't know it.</summary>
/// <param name="Place">Where it was read.</param>
/// <param name="Landmarks">Its landmarks.</param>
/// <param name="ExpectedLogErrors">For each of them the logarithm of the expected error.</param>
/// <param name="Radii">For each of them the 90 % radius, interocular distances.</param>
internal sealed record TestedHead(
    ReadPlace Place, IReadOnlyList<ReadLandmark> Landmarks, IReadOnlyList<double> ExpectedLogErrors, IReadOnlyList<double> Radii)
{
    /// <summary>Tests a head.</summary>
    public static TestedHead Of(IGrouping<ReadPlace, ReadLandmark> head, RadiusCalibration radii)
    {
        ReadLandmark[] landmarks = [.. head];
        double[] expected = [.. landmarks.Select(l => RadiusFit.Expected(radii, l))];
        return new TestedHead(head.Key, landmarks, expected, [.. expected.Select(radii.Radius90)]);
    }
}
