using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Verification;

namespace AutoPlace.Tests.Calibration;

/// <summary>A small calibration for tests.</summary>
internal static class SampleCalibration
{
    /// <summary>Expects exp(-3) or exp(-2) of a landmark or joint, by its first feature; takes factors 2 and 3.</summary>
    public static ConfidenceCalibration Create() => new()
    {
        ModelSha256 = new string('b', 64),
        Radii = new RadiusCalibration
        {
            Usual = [.. LandmarkNames.All.Select(n => new UsualLandmark(n, -3.5, new Vector3d(0.25, -1, 0.5), new Vector3d(0.25, -1, 0.75)))],
            Errors = Radii(RadiusCalibration.InputCount),
        },
        Joints = Radii(JointFeatures.InputCount),
        Failure = new TreeClassifier(new TreeEnsemble(0.5, [Stump(0, 0.5f, 1, -1)], ConfidenceCalibration.FailureInputCount), 2, 0.25),
    };

    private static ConformalRadii Radii(int inputs) => new()
    {
        LogError = new TreeEnsemble(-3, [Stump(0, -2.5f, 0, 1)], inputs),
        ClassBorders = [-2.5],
        Factors = [2, 3],
    };

    private static DecisionTree Stump(int feature, float threshold, double atMost, double above) =>
        new([feature], [threshold], [~0], [~1], [atMost, above]);
}
