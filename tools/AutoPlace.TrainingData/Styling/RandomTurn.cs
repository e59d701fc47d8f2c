using System.Numerics;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>Random rotations.</summary>
internal static class RandomTurn
{
    /// <summary>Uniform over all rotations (Shoemake 1992: four normal numbers, normalised).</summary>
    public static Quaternion Any(SeededRandom random) =>
        Quaternion.Normalize(new(random.Normal(), random.Normal(), random.Normal(), random.Normal() + 1e-6f));

    /// <summary>Small, about each axis at most the given angle in radians.</summary>
    public static Quaternion Within(SeededRandom random, float angle) => Quaternion.CreateFromYawPitchRoll(
        random.Uniform(-angle, angle), random.Uniform(-angle, angle), random.Uniform(-angle, angle));
}
