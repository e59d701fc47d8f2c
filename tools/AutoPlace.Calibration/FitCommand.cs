using System.Diagnostics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData;
using AutoPlace.Verification;

namespace AutoPlace.Calibration;

/// <summary>Fits a calibration to records, and prints what it's worth on heads that it wasn't fitted to.</summary>
internal static class FitCommand
{
    /// <summary>Angle of up or front from which on a frame is wrong, degrees.</summary>
    private const double WrongFrame = 20;

    /// <summary>A head fails when more of its landmarks than this are off.</summary>
    private const double MostOff = 0.1;

    /// <summary>Tenths of the heads that the trees of the radii learn from, and that their factors come from; the others test.</summary>
    private const int LearntTenths = 4, ConformedTenths = 2;

    public static int Run(ReadOnlySpan<string> words)
    {
        var options = new CommandOptions(words, "records", "model", "out");
        LandmarkModel model = LandmarkModel.Open(options.Required("model"));
        RecordedHeads records = RecordedHeads.Read(options.Required("records").Split(','));
        var clock = Stopwatch.StartNew();
        ILookup<int, ReadLandmark> parts = records.Landmarks.ToLookup(l => (l.Place.Number % 10) switch
        {
            < LearntTenths => 0,
            < LearntTenths + ConformedTenths => 1,
            _ => 2,
        });
        IGrouping<ReadPlace, ReadLandmark>[] heldOut = [.. parts[1].Concat(parts[2]).GroupBy(l => l.Place)];
        ReadLandmark[] learnt = Known(0), conformed = Known(1), tested = Known(2);
        UsualLandmark[] usual = RadiusFit.Usual(learnt);
        TreeEnsemble logError = RadiusFit.Train(usual, learnt);
        (double[] borders, double[] factors) =
            RadiusFit.Conform([.. conformed.Select(l => logError.Evaluate(RadiusFit.Inputs(usual, l)))], conformed);

        // Of heads that the trees of the radii learnt from, they expect too much.
        double[][] expected = [.. heldOut.Select(h => h.Select(l => logError.Evaluate(RadiusFit.Inputs(usual, l))).ToArray())];
        ReadPlace[] heads = [.. heldOut.Select(h => h.Key)];
        bool[] failed = [.. heads.Select(HasFailed)];
        var failure = ClassifierFit.Of(heads, [.. heads.Select((h, i) => ConfidenceCalibration.FailureInputs(h.Features, expected[i]))], failed);
        ReadPlace[] places = [.. records.Places.Where(p => p.Features.Length > 0)];
        var head = ClassifierFit.Of(places, [.. places.Select(p => p.Features)], [.. places.Select(p => p.IsOfHead && p.FrameError <= WrongFrame)]);
        var calibration = new ConfidenceCalibration
        {
            ModelSha256 = model.Sha256,
            Usual = usual,
            LogError = logError,
            ClassBorders = borders,
            RadiusFactors = factors,
            Failure = failure.Classifier,
            Head = head.Classifier,
            LeastHead = 0.5,
        };

        var report = new FitReport(Console.Out);
        report.Radii(tested, [.. tested.Select(l => calibration.Radius90(logError.Evaluate(RadiusFit.Inputs(usual, l))))]);
        report.Failures(heads, failed, failure.Probabilities);
        report.Heads(records.Places, places, head.Probabilities);
        byte[] json = CalibrationFile.Write(calibration);
        File.WriteAllBytes(options.Required("out"), json);
        Console.Error.WriteLine($"{json.Length} bytes, fitted in {clock.Elapsed.TotalSeconds:F0} s");
        return 0;

        ReadLandmark[] Known(int part) => [.. parts[part].Where(l => l.IsKnown)];
    }

    private static bool HasFailed(ReadPlace place) => place.FrameError > WrongFrame || place.Off > MostOff;
}
