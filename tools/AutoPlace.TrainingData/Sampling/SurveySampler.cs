using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Rendering;
using AutoPlace.TrainingData.Styling;

namespace AutoPlace.TrainingData.Sampling;

/// <summary>Draws views that show all of a mesh from any side, as the head finder takes them, and closer ones.</summary>
/// <param name="random">The head's stream.</param>
/// <param name="mesh">The mesh.</param>
internal sealed class SurveySampler(SeededRandom random, TriangleMesh mesh)
{
    private const float Margin = 1.02f, LargestMargin = 1.3f;

    /// <summary>Draws the next view.</summary>
    public SampledView Next()
    {
        Quaternion turn = random.Chance(0.5f) ? RandomTurn.Any(random) : Upright();
        (Vector3 right, Vector3 up, Vector3 toward) =
            (Vector3.Transform(Vector3.UnitX, turn), Vector3.Transform(Vector3.UnitY, turn), Vector3.Transform(Vector3.UnitZ, turn));
        (float left, float width) = Extent(right);
        (float bottom, float height) = Extent(up);
        (float back, float depth) = Extent(toward);
        float half = MathF.Max(MathF.Max(width, height), depth) / 2 * random.LogUniform(Margin, LargestMargin);
        Vector3 centre = (right * (left + (width / 2))) + (up * (bottom + (height / 2))) + (toward * (back + (depth / 2)));
        if (random.Chance(0.15f))
        {
            // Closer, about where a head is.
            half = MathF.Max(2, half * random.Uniform(0.3f, 1));
            centre = half * 0.6f * new Vector3(random.Uniform(-1, 1), random.Uniform(-1, 1), random.Uniform(-1, 1));
        }
        else
        {
            centre += (half * (1 - (1 / Margin))) * new Vector3(random.Uniform(-1, 1), random.Uniform(-1, 1), random.Uniform(-1, 1));
        }

        var view = new OrthographicView(centre, right, up, toward, half, PoseSampler.ImageSize);
        return new(view, Close: false, Facing: false, WrongFrame: false, 0, 0);
    }

    // From any side of something that stands or lies along the image's axes.
    private Quaternion Upright()
    {
        Quaternion roll = Quaternion.CreateFromAxisAngle(Vector3.UnitZ, random.Whole(0, 3) * MathF.PI / 2);
        Quaternion yaw = Quaternion.CreateFromAxisAngle(Vector3.UnitY, random.Uniform(-MathF.PI, MathF.PI));
        return yaw * RandomTurn.Within(random, 0.35f) * roll;
    }

    private (float From, float Length) Extent(Vector3 along)
    {
        (float low, float high) = (float.PositiveInfinity, float.NegativeInfinity);
        foreach (Vector3 p in mesh.Positions)
        {
            float at = Vector3.Dot(p, along);
            low = MathF.Min(low, at);
            high = MathF.Max(high, at);
        }

        return (low, high - low);
    }
}
