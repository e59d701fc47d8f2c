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

        var report = new FitReport(Console.Out);

        // Each part is tested once, by what three others taught and the fourth conformed.
        TestedHeads tests = TestedHeads.Joined(Enumerable.Range(0, Parts).Select(tested =>
        {
            int conforming = (tested + 1) % Parts;
            return Fit(records, p => Part(p) != tested && Part(p) != conforming, p => Part(p) == conforming).Test(records, p => Part(p) == tested);
        }));
        report.Radii("by what was fitted to other heads", tests);
        report.Radii("each kind by what was fitted to the other kinds", TestedHeads.Joined(
            records.Landmarks.Select(l => l.Place.Kind).Distinct().Order(StringComparer.Ordinal).Select(kind => Fit(
                records, p => p.Kind != kind && Part(p) != Parts - 1, p => p.Kind != kind && Part(p) == Parts - 1).Test(records, p => p.Kind == kind))));

        ReadPlace[] places = [.. tests.Heads.Select(t => t.Place)];
        var failure = ClassifierFit.Of(
            places,
            [.. tests.Heads.Select(t => ConfidenceCalibration.FailureInputs(t.Place.Features, t.ExpectedLogErrors))],
            [.. places.Select(p => p.HasFailed)]);
        report.Failures(places, failure.Probabilities);
        report.Heads(records.Places);
        FittedRadii radii = Fit(records, p => Part(p) != Parts - 1, p => Part(p) == Parts - 1);
        var calibration = new ConfidenceCalibration
        {
            ModelSha256 = model.Sha256,
            Radii = radii.Landmarks,
            Joints = radii.Joints,
            Failure = failure.Classifier,
        };
        byte[] json = CalibrationFile.Write(calibration);
        File.WriteAllBytes(options.Required("out"), json);
        Console.Error.WriteLine($"{json.Length} bytes, fitted in {clock.Elapsed.TotalSeconds:F0} s");
        return 0;
    }

    private static int Part(ReadPlace place) => place.Number % Parts;

    private static FittedRadii Fit(RecordedHeads records, Func<ReadPlace, bool> teaches, Func<ReadPlace, bool> conforms) => new(
        RadiusFit.Of(records.Landmarks.Where(l => teaches(l.Place)), records.Landmarks.Where(l => conforms(l.Place))),
        RadiusFit.Of(records.Joints.Where(j => teaches(j.Place)), records.Joints.Where(j => conforms(j.Place))));
}
