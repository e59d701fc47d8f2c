using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;

namespace AutoPlace.Verification;

/// <summary>What is known of a head as a whole that may tell whether it was understood, or is one at all.</summary>
public static class HeadFeatures
{
    private static readonly int[] Required = [.. LandmarkNames.Required.Select(LandmarkNames.IndexOf)];

    /// <summary>Names of the features, in the order in which they come.</summary>
    public static IReadOnlyList<string> Names { get; } =
    [
        "agreement", // of the head finder's last look
        "facing0", "facing1", "facing2", "facing3", "facing4", "facing5", // of each view
        "likeness", "leastFacing", // mean and least of those
        "denseAgreement", // share of the correspondences that one similarity explains
        "skinShare", // of what the first view shows
        "logCount", // of the correspondences
        "logScale", // of the similarity from the atlas
        "turn", // of that similarity, degrees
        "leastRequiredPresence", "meanRequiredPresence", "meanPresence",
        "meanLogRadius", "mostRequiredLogRadius",
        "medianAsymmetry", "mostRequiredAsymmetry",
        "medianViewDisagreement", "mostRequiredViewDisagreement",
        "medianPassDisagreement", "mostRequiredPassDisagreement",
        "medianMoved", "medianLocalResidual", "medianLocalSigma",
        "inferred", // share of the landmarks
        "eyeballs", // how many are modelled
        "symmetric", // 1 when treated so
    ];

    /// <summary>The features of a head.</summary>
    /// <param name="agreement">Agreement of the head finder's last look, in [0, 1].</param>
    /// <param name="read">What looking at the head found.</param>
    /// <param name="head">The head as understood.</param>
    /// <param name="landmarks">Features of its landmarks.</param>
    /// <returns>One number for each of <see cref="Names"/>, finite.</returns>
    public static double[] Of(double agreement, HeadReading read, ConditionedHead head, double[][] landmarks)
    {
        ArgumentNullException.ThrowIfNull(read);
        ArgumentNullException.ThrowIfNull(head);
        ArgumentNullException.ThrowIfNull(landmarks);
        SimilarityTransform fit = head.Evidence.AtlasToHead;
        IReadOnlyList<Landmark> given = head.Evidence.Landmarks;
        return
        [
            agreement,
            .. read.Observations.Select(o => o.Prediction.Facing),
            read.Likeness, read.Observations.Min(o => o.Prediction.Facing),
            FrameEstimator.Estimate(read.Correspondences)?.Agreement ?? 0,
            SkinShare(read.Observations[0].Prediction.Dense),
            Math.Log(1 + read.Correspondences.Count),
            Math.Log(Math.Max(fit.Scale, 1e-4)),
            Math.Acos(Math.Clamp((fit.Rotation.Trace - 1) / 2, -1, 1)) * 180 / Math.PI,
            Required.Min(i => landmarks[i][Index("presence")]), Required.Average(i => landmarks[i][Index("presence")]), Mean("meanPresence"),
            Mean("logRadius"), MostRequired("logRadius"),
            Median("asymmetry"), MostRequired("asymmetry"),
            Median("viewDisagreement"), MostRequired("viewDisagreement"),
            Median("passDisagreement"), MostRequired("passDisagreement"),
            Median("moved"), Median("localResidual"), Median("localSigma"),
            given.Count(l => l.Source == LandmarkSource.Inferred) / (double)given.Count,
            (head.Evidence.EyeballLeft.IsModelled ? 1 : 0) + (head.Evidence.EyeballRight.IsModelled ? 1 : 0),
            head.IsSymmetric ? 1 : 0,
        ];

        double Mean(string name) => Values(name).Average();
        double MostRequired(string name) => Required.Max(i => landmarks[i][Index(name)]);
        double Median(string name) => Values(name).Order().ElementAt(landmarks.Length / 2);
        IEnumerable<double> Values(string name)
        {
            int at = Index(name);
            return landmarks.Select(l => l[at]);
        }
    }

    private static int Index(string name)
    {
        for (int i = 0; i < LandmarkFeatures.Names.Count; i++)
        {
            if (LandmarkFeatures.Names[i] == name)
            {
                return i;
            }
        }

        throw new ArgumentException($"no feature '{name}'", nameof(name));
    }

    // Share of skin and eyeballs in what isn't background.
    private static double SkinShare(DenseMap map)
    {
        double skin = 0, any = 0;
        for (int cell = 0; cell < map.Size * map.Size; cell++)
        {
            skin += map.ClassProbability(cell, SurfaceClass.HeadSkin) + map.ClassProbability(cell, SurfaceClass.Eyeball);
            any += 1 - map.ClassProbability(cell, SurfaceClass.Background);
        }

        return any > 0 ? skin / any : 0;
    }
}
