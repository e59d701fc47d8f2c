using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>Shapes that aren't heads: hands, limbs, torsos, furniture-like solids, heaps. Unit: interocular distances.</summary>
internal static class NonHead
{
    private static readonly Stuff Thing = new(SurfaceClass.Other, Material.Other);

    /// <summary>Draws a shape about where a head's middle would be.</summary>
    public static void Append(WorkMesh mesh, SeededRandom random)
    {
        float u = random.Unit();
        if (u < 0.25f)
        {
            AppendHand(mesh, random);
        }
        else if (u < 0.45f)
        {
            AppendLimbs(mesh, random);
        }
        else
        {
            AppendHeap(mesh, random, u < 0.7f ? random.Whole(1, 3) : random.Whole(4, 30));
        }
    }

    private static void AppendHand(WorkMesh mesh, SeededRandom random)
    {
        Quaternion turn = RandomTurn.Any(random);
        var middle = new Vector3(0, -0.5f, -0.5f);
        float size = random.Uniform(0.6f, 1.2f);
        Vector3 At(float x, float y, float z) => middle + (size * Vector3.Transform(new Vector3(x, y, z), turn));
        Primitives.Superquadric(mesh, middle, size * new Vector3(0.8f, 0.9f, 0.3f), turn, new(0.6f, 0.6f), 7, Thing);
        int fingers = random.Whole(3, 5);
        float bend = random.Uniform(-0.6f, 0.6f);
        for (int i = 0; i < fingers; i++)
        {
            float x = -0.65f + (1.3f * i / (fingers - 1)), length = random.Uniform(0.9f, 1.4f);
            Span<Vector3> finger = [At(x, 0.7f, 0), At(1.15f * x, 0.7f + (0.6f * length), bend * 0.4f), At(1.25f * x, 0.7f + length, bend)];
            Span<Vector2> radii = [size * new Vector2(0.2f, 0.2f), size * new Vector2(0.19f, 0.19f), size * new Vector2(0.12f, 0.12f)];
            Primitives.Tube(mesh, finger, radii, Vector3.Transform(Vector3.UnitZ, turn), 7, closed: false, Thing);
        }

        Span<Vector3> thumb = [At(-0.6f, -0.4f, 0.1f), At(-1.2f, 0.1f, 0.3f), At(-1.4f, 0.5f, 0.35f)];
        Span<Vector2> thumbRadii = [size * new Vector2(0.28f, 0.28f), size * new Vector2(0.22f, 0.22f), size * new Vector2(0.15f, 0.15f)];
        Primitives.Tube(mesh, thumb, thumbRadii, Vector3.Transform(Vector3.UnitZ, turn), 7, closed: false, Thing);
    }

    // A trunk with arms or legs, cropped by the image.
    private static void AppendLimbs(WorkMesh mesh, SeededRandom random)
    {
        Quaternion turn = random.Chance(0.5f) ? RandomTurn.Within(random, 0.4f) : RandomTurn.Any(random);
        float size = random.Uniform(0.8f, 2);
        int count = random.Whole(1, 4);
        Primitives.Superquadric(
            mesh, new(0, -0.6f, -0.5f), size * new Vector3(random.Uniform(0.5f, 1), random.Uniform(0.8f, 1.6f), random.Uniform(0.4f, 0.7f)), turn, new(0.8f, 0.8f), 8, Thing);
        for (int i = 0; i < count; i++)
        {
            Vector3 from = new Vector3(0, -0.6f, -0.5f) + (size * 0.6f * new Vector3(random.Normal(), random.Normal(), 0.3f * random.Normal()));
            Vector3 bend = from + (size * new Vector3(random.Normal(), random.Normal(), random.Normal()));
            Vector3 end = bend + (size * new Vector3(random.Normal(), random.Normal(), random.Normal()));
            float thick = size * random.Uniform(0.15f, 0.45f);
            Span<Vector3> limb = [from, bend, end];
            Span<Vector2> radii = [new(thick, thick), new(0.85f * thick, 0.85f * thick), new(0.6f * thick, 0.6f * thick)];
            Primitives.Tube(mesh, limb, radii, new Vector3(0.31f, 0.2f, 0.93f), 9, closed: false, Thing);
        }
    }

    private static void AppendHeap(WorkMesh mesh, SeededRandom random, int count)
    {
        float spread = count < 4 ? 0.5f : random.Uniform(0.5f, 1.4f), size = count < 4 ? random.LogUniform(0.4f, 1.7f) : random.LogUniform(0.15f, 0.8f);
        for (int i = 0; i < count; i++)
        {
            Vector3 centre = new Vector3(0, -0.55f, -0.5f) + (spread * new Vector3(random.Normal(), random.Normal(), random.Normal()));
            Vector3 radii = size * new Vector3(random.LogUniform(0.5f, 1.6f), random.LogUniform(0.5f, 1.6f), random.LogUniform(0.5f, 1.6f));
            var exponents = new Vector2(random.LogUniform(0.15f, 1.6f), random.LogUniform(0.15f, 1.6f));
            Primitives.Superquadric(mesh, centre, radii, RandomTurn.Any(random), exponents, random.Whole(3, 10), Thing);
        }
    }
}
