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
        var view = OrthographicView.ShowingAll(
            mesh.Positions, Vector3.Transform(Vector3.UnitY, turn), Vector3.Transform(Vector3.UnitZ, turn), random.LogUniform(Margin, LargestMargin), PoseSampler.ImageSize);
        (Vector3 centre, float half) = (view.Centre, view.HalfSize);
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

        return new(view with { Centre = centre, HalfSize = half }, Close: false, Facing: false, WrongFrame: false, 0, 0);
    }

    // From any side of something that stands or lies along the image's axes.
    private Quaternion Upright()
    {
        Quaternion roll = Quaternion.CreateFromAxisAngle(Vector3.UnitZ, random.Whole(0, 3) * MathF.PI / 2);
        Quaternion yaw = Quaternion.CreateFromAxisAngle(Vector3.UnitY, random.Uniform(-MathF.PI, MathF.PI));
        return yaw * RandomTurn.Within(random, 0.35f) * roll;
    }
}
