using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Rendering;

namespace AutoPlace.Verification;

/// <summary>
/// What is known of each landmark that may tell how far off it is, without knowing where it ought to be. Lengths are in
/// interocular distances of the head as found.
/// </summary>
public static class LandmarkFeatures
{
    /// <summary>Names of the features, in the order in which they come.</summary>
    public static IReadOnlyList<string> Names { get; } =
    [
        "logRadius", // of the covariance's 90 % radius, as the landmark is given
        "logSeenRadius", // of the same as the views alone have it
        "presence", // largest of all views
        "meanPresence", // mean of all views
        "viewDisagreement", // weighted root mean square distance of the views' rays
        "passDisagreement", // between what the whole and the close views say
        "asymmetry", // distance to the mirrored partner
        "moved", // by skin, symmetry and eyeball, from where the views have it
        "localResidual", // of the atlas similarity, mean around the landmark
        "localSigma", // of the correspondences around it
        "localCount", // logarithm of how many there are
        "logEdge", // of the mean length of the skin's edges around it
        "source", // 0 network, 1 sphere fit, 2 inferred, 3 lock
        "atlasX", "atlasY", "atlasZ", // where the similarity has it in the atlas
        "denseX", "denseY", "denseZ", // where the correspondences around it have it in the atlas
    ];

    /// <summary>How many of the features come before the places in the atlas.</summary>
    public static int OwnCount => Names.Count - 6;

    /// <summary>Where the similarity has the landmark in the atlas.</summary>
    /// <param name="features">The landmark's features.</param>
    public static Vector3d Atlas(IReadOnlyList<double> features)
    {
        ArgumentNullException.ThrowIfNull(features);
        return new(features[OwnCount], features[OwnCount + 1], features[OwnCount + 2]);
    }

    /// <summary>Where the correspondences around the landmark have it in the atlas.</summary>
    /// <param name="features">The landmark's features.</param>
    public static Vector3d Dense(IReadOnlyList<double> features)
    {
        ArgumentNullException.ThrowIfNull(features);
        return new(features[OwnCount + 3], features[OwnCount + 4], features[OwnCount + 5]);
    }

    /// <summary>The features of each landmark, in the network's order.</summary>
    /// <param name="scan">The scan.</param>
    /// <param name="read">What looking at the head found.</param>
    /// <param name="head">The head as understood.</param>
    /// <param name="surroundings">What was seen on that head.</param>
    /// <returns>For each landmark one number for each of <see cref="Names"/>, finite.</returns>
    public static double[][] Of(ScanSurface scan, HeadReading read, ConditionedHead head, HeadSurroundings surroundings)
    {
        ArgumentNullException.ThrowIfNull(scan);
        ArgumentNullException.ThrowIfNull(read);
        ArgumentNullException.ThrowIfNull(head);
        ArgumentNullException.ThrowIfNull(surroundings);
        HeadEvidence evidence = head.Evidence;
        Landmark[] seen = [.. read.Landmarks.Select(l => l.Reframed(read.Frame, head.Frame))];
        int wholeViews = ViewRing.Whole().Count;
        IReadOnlyList<Landmark> whole = [], close = [];
        LocalEdgeLength? edges = null;
        Parallel.Invoke(
            () => whole = LandmarkCombination.Combine(read.ViewFrame, scan.Mesh, [.. read.Observations.Take(wholeViews)]),
            () => close = LandmarkCombination.Combine(read.ViewFrame, scan.Mesh, [.. read.Observations.Skip(wholeViews)]),
            () => edges = surroundings.Edges);
        double[][] features = new double[seen.Length][];
        Parallel.For(0, features.Length, i =>
        {
            Landmark given = evidence.Landmarks[i];
            Vector3d partner = seen[LandmarkNames.IndexOf(LandmarkNames.Mirror(given.Name))].Position;
            Vector3d atlas = surroundings.ToAtlas(given.Position);
            SeenAround around = surroundings.Around(given.Position);
            features[i] =
            [
                HeadSurroundings.LogLength(ConfidenceRadius.Of90(given.Covariance)),
                HeadSurroundings.LogLength(ConfidenceRadius.Of90(seen[i].Covariance)),
                seen[i].Presence,
                read.Observations.Average(o => o.Prediction.Landmarks[i].Presence),
                Disagreement(read, i),
                Vector3d.Distance(whole[i].Position, close[i].Position) * read.ViewFrame.InterocularDistance / head.Frame.InterocularDistance,
                Vector3d.Distance(seen[i].Position, partner with { X = -partner.X }),
                Vector3d.Distance(seen[i].Position, given.Position),
                around.Residual, around.Sigma, Math.Log(1 + around.Count),
                HeadSurroundings.LogLength(edges!.At(given.Position)),
                given.Source switch { LandmarkSource.Network => 0, LandmarkSource.SphereFit => 1, LandmarkSource.Inferred => 2, _ => 3 },
                atlas.X, atlas.Y, atlas.Z,
                around.Atlas.X, around.Atlas.Y, around.Atlas.Z,
            ];
        });

        return features;
    }

    private static double Disagreement(HeadReading read, int landmark)
    {
        Vector3d position = read.Frame.ToFile(read.Landmarks[landmark].Position);
        double sum = 0, weights = 0;
        foreach (ViewObservation o in read.Observations)
        {
            LandmarkPrediction p = o.Prediction.Landmarks[landmark];
            double scale = o.FileView.PixelsPerUnit * read.Frame.InterocularDistance;
            var pixel = (Vector3d)o.FileView.Project((System.Numerics.Vector3)position);
            double dx = (pixel.X - p.X) / scale, dy = (pixel.Y - p.Y) / scale, sigma = p.Sigma / scale;
            double weight = p.Presence / (sigma * sigma);
            sum += weight * ((dx * dx) + (dy * dy));
            weights += weight;
        }

        return weights > 0 ? Math.Sqrt(sum / weights) : 0;
    }
}
