using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>
/// What is known of each placed joint that may tell how far off it is. Nothing of it depends on what a rig calls its
/// joints or how many it has, so that it holds for any rig. Lengths are in interocular distances of the head as found.
/// </summary>
public static class JointFeatures
{
    /// <summary>Distance at which a landmark's say about a joint has dropped to 0.61, interocular distances.</summary>
    private const double Nearness = 0.3;

    /// <summary>Keeps the mean of landmarks defined far from all of them.</summary>
    private const double LeastWeight = 1e-12;

    /// <summary>Names of the features, in the order in which they come.</summary>
    public static IReadOnlyList<string> Names { get; } =
    [
        "logRadius", // of the radius that registration gave
        "landmarkLogRadius", // of the landmarks around it, as the views gave them
        "logLandmarkDistance", // to the nearest of them
        "localResidual", // of the atlas similarity, mean around the joint
        "localSigma", // of the correspondences around it
        "localCount", // logarithm of how many there are
        "logEdge", // of the mean length of the skin's edges around it
        "ride", // 0 skin, 1 eyes, 2 teeth, 3 tongue, 4 hinge, 5 inner
        "modelled", // 1 when the head has its feature
        "lift", // from the skin
        "localSize",
        "headX", "headY", "headZ", // where it is placed; here and below X on the left side
        "atlasX", "atlasY", "atlasZ", // where the similarity has it in the atlas
        "denseX", "denseY", "denseZ", // where the correspondences around it have it in the atlas
    ];

    /// <summary>How many numbers <see cref="Inputs"/> gives.</summary>
    public static int InputCount => Names.Count + HeadFeatures.Names.Count;

    /// <summary>What trees are given of a joint: its own features and those of the head.</summary>
    /// <param name="joint">One row of what <see cref="Of"/> gives.</param>
    /// <param name="head">The head's <see cref="HeadFeatures"/>.</param>
    public static double[] Inputs(IReadOnlyList<double> joint, IReadOnlyList<double> head) => [.. joint, .. head];

    /// <summary>The features of each joint.</summary>
    /// <param name="joints">Joints as registration placed them, head frame.</param>
    /// <param name="landmarks">The head's landmarks as found, not calibrated, head frame.</param>
    /// <param name="surroundings">What was seen on the head.</param>
    /// <returns>For each joint one number for each of <see cref="Names"/>, finite.</returns>
    public static double[][] Of(IReadOnlyList<JointPlacement> joints, IReadOnlyList<Landmark> landmarks, HeadSurroundings surroundings)
    {
        ArgumentNullException.ThrowIfNull(joints);
        ArgumentNullException.ThrowIfNull(landmarks);
        ArgumentNullException.ThrowIfNull(surroundings);
        LocalEdgeLength edges = surroundings.Edges;
        double[] logRadii = [.. landmarks.Select(l => HeadSurroundings.LogLength(ConfidenceRadius.Of90(l.Covariance)))];
        double[][] features = new double[joints.Count][];
        Parallel.For(0, features.Length, j =>
        {
            JointPlacement joint = joints[j];
            Vector3d at = joint.Position, atlas = surroundings.ToAtlas(at);
            SeenAround around = surroundings.Around(at);
            (double logRadius, double distance) = Nearby(at, landmarks, logRadii);
            features[j] =
            [
                HeadSurroundings.LogLength(joint.Radius90),
                logRadius,
                HeadSurroundings.LogLength(distance),
                around.Residual, around.Sigma, Math.Log(1 + around.Count),
                HeadSurroundings.LogLength(edges.At(at)),
                Kind(joint.Joint.Ride),
                joint.State == JointState.Modelled ? 1 : 0,
                joint.Lift,
                joint.LocalSize,
                Math.Abs(at.X), at.Y, at.Z,
                Math.Abs(atlas.X), atlas.Y, atlas.Z,
                Math.Abs(around.Atlas.X), around.Atlas.Y, around.Atlas.Z,
            ];
        });

        return features;
    }

    private static double Kind(Ride ride) => ride switch
    {
        Ride.Skin => 0,
        Ride.Eyes or Ride.EyeballLeft or Ride.EyeballRight => 1,
        Ride.TeethUpper or Ride.TeethLower => 2,
        Ride.Tongue => 3,
        Ride.JawHinge => 4,
        _ => 5,
    };

    private static (double LogRadius, double Distance) Nearby(Vector3d at, IReadOnlyList<Landmark> landmarks, double[] logRadii)
    {
        double sum = 0, weights = 0, nearest = double.PositiveInfinity;
        for (int i = 0; i < landmarks.Count; i++)
        {
            double squared = (landmarks[i].Position - at).LengthSquared;
            double weight = Math.Exp(-squared / (2 * Nearness * Nearness)) + LeastWeight;
            sum += weight * logRadii[i];
            weights += weight;
            nearest = Math.Min(nearest, squared);
        }

        return (sum / weights, Math.Sqrt(nearest));
    }
}
