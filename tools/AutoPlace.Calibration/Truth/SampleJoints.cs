using AutoPlace.Geometry;
using AutoPlace.TrainingData;

namespace AutoPlace.Calibration.Truth;

/// <summary>Where the joints of a rig belong on a generated head, whose features may be pieces that the model doesn't have.</summary>
internal static class SampleJoints
{
    /// <summary>How far from a landmark a joint still belongs to its feature, interocular distances.</summary>
    private const double Reach = 0.35;

    /// <summary>Keeps the weight of a landmark finite that lies on the joint, interocular distances squared.</summary>
    private const double Coincident = 1e-6;

    /// <summary>
    /// The joints move with the model's vertices, and where a feature was replaced by a piece of its own, along with the
    /// landmarks around (weights by Shepard 1968, fourth power of the distance).
    /// </summary>
    /// <param name="sample">The head.</param>
    /// <param name="rig">The rig.</param>
    /// <returns>A place in the sample's head frame for each joint of the rig; null where the nearest landmark's feature is absent.</returns>
    public static Vector3d?[] On(HeadSample sample, TruthRig rig) => [.. rig.On(sample.Shape).Select(joint => Place(joint.Position, sample))];

    /// <summary>Where a joint belongs that the model's vertices alone would carry to a place; null where the nearest landmark's feature is absent.</summary>
    internal static Vector3d? Place(Vector3d joint, HeadSample sample)
    {
        double sum = 0, nearest = Reach * Reach;
        Vector3d shift = Vector3d.Zero;
        bool isAbsent = false;
        for (int l = 0; l < sample.Landmarks.Length; l++)
        {
            double squared = ((Vector3d)(sample.Landmarks[l] - sample.Replaced[l]) - joint).LengthSquared;
            if (squared >= Reach * Reach)
            {
                continue;
            }

            bool absent = sample.States[l] == LandmarkState.Absent;
            (nearest, isAbsent) = squared < nearest ? (squared, absent) : (nearest, isAbsent);
            if (!absent)
            {
                double weight = 1 / ((squared + Coincident) * (squared + Coincident));
                shift += (Vector3d)sample.Replaced[l] * weight;
                sum += weight;
            }
        }

        return isAbsent ? null : sum > 0 ? joint + (shift / sum) : joint;
    }
}
