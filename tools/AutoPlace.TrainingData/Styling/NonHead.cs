using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>
/// Shapes that aren't heads: hands, limbs, bodies, bones, vessels, machine parts, plants, tubes, heaps. Unit:
/// interocular distances. One for each thread.
/// </summary>
internal sealed class NonHead
{
    private static readonly Stuff Thing = new(SurfaceClass.Other, Material.Other);
    private readonly CarvedThings _carved = new();
    private readonly Decimation _decimation = new();

    /// <summary>Draws a shape about where a head's middle would be, of any size; most as they'd be looked at in search of a head.</summary>
    public void Append(WorkMesh mesh, SeededRandom random)
    {
        int count = random.Chance(0.1f) ? random.Whole(2, 3) : 1;
        for (int i = 0; i < count; i++)
        {
            int first = mesh.VertexCount;
            int before = mesh.TriangleCount;
            while (mesh.TriangleCount == before)
            {
                AppendOne(mesh, random); // what is carved away wholly, or thinner than a cell, is drawn anew
            }

            Vector3 shift = i > 0 ? new Vector3(random.Normal(), random.Normal(), random.Normal()) : default;
            Quaternion turn = i > 0 ? RandomTurn.Any(random) : Quaternion.Identity;
            foreach (ref Vector3 p in mesh.Positions[first..])
            {
                p = shift + Vector3.Transform(p, turn);
            }
        }

        (Vector3 low, Vector3 high) = Bounds(mesh.Positions);
        float size = Vector3.Distance(low, high);
        Roughen(mesh, random, size);
        if (random.Chance(0.5f))
        {
            Paint(mesh, random, size);
        }

        Frame(mesh, random);
    }

    private void AppendOne(WorkMesh mesh, SeededRandom random)
    {
        switch (random.Unit())
        {
            case < 0.45f:
                _carved.Append(mesh, random, Thing);
                break;
            case < 0.65f:
                TurnedThings.Append(mesh, random, Thing);
                break;
            case < 0.80f:
                BentThings.Append(mesh, random, Thing);
                break;
            case < 0.85f:
                AppendHand(mesh, random);
                break;
            case < 0.91f:
                AppendLimbs(mesh, random);
                break;
            default:
                AppendHeap(mesh, random, random.Chance(0.45f) ? random.Whole(1, 3) : random.Whole(4, 30));
                break;
        }
    }

    // Waves, coarser triangles, holes.
    private void Roughen(WorkMesh mesh, SeededRandom random, float size)
    {
        if (random.Chance(0.3f))
        {
            Span<BumpField.Bump> bumps = stackalloc BumpField.Bump[random.Whole(3, 30)];
            for (int i = 0; i < bumps.Length; i++)
            {
                float reach = size * random.LogUniform(0.05f, 0.4f);
                Vector3 push = reach * random.Uniform(0.05f, 0.35f) * new Vector3(random.Normal(), random.Normal(), random.Normal());
                bumps[i] = new(mesh.Positions[random.Whole(0, mesh.VertexCount - 1)], push, reach);
            }

            BumpField.Apply(mesh.Positions, bumps);
        }

        if (random.Chance(0.35f))
        {
            float cell = size * random.LogUniform(0.02f, 0.1f);
            _decimation.Apply(mesh, cell, cell, _ => false, [], random);
        }

        int holes = random.Chance(0.12f) ? random.Whole(1, 6) : 0;
        for (int i = 0; i < holes; i++)
        {
            Vector3 centre = mesh.Positions[random.Whole(0, mesh.VertexCount - 1)];
            float radius = size * random.LogUniform(0.02f, 0.15f);
            mesh.KeepTriangles(t => Vector3.DistanceSquared(mesh.Positions[mesh.Indices[3 * t]], centre) > radius * radius);
        }
    }

    // Bands, or patches anywhere.
    private static void Paint(WorkMesh mesh, SeededRandom random, float size)
    {
        Vector3 along = Vector3.Transform(Vector3.UnitY, RandomTurn.Any(random));
        bool bands = random.Chance(0.5f);
        float width = size * random.LogUniform(0.04f, 0.5f);
        Span<Vector4> patches = stackalloc Vector4[random.Whole(1, 8)];
        foreach (ref Vector4 patch in patches)
        {
            Vector3 centre = mesh.Positions[random.Whole(0, mesh.VertexCount - 1)];
            patch = new(centre, size * random.LogUniform(0.03f, 0.25f));
        }

        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            Vector3 p = mesh.Positions[mesh.Indices[3 * t]];
            bool painted = bands && MathF.Floor(Vector3.Dot(p, along) / width) % 2 == 0;
            foreach (Vector4 patch in patches)
            {
                painted |= !bands && Vector3.DistanceSquared(p, patch.AsVector3()) < patch.W * patch.W;
            }

            mesh.Materials[t] = painted ? Material.Clothes : Material.Other;
        }
    }

    // Size and place are those that a search for a head tries: the top is taken for the vertex, and the head for a
    // large or a small part of the height. Most files are built along the axes.
    private static void Frame(WorkMesh mesh, SeededRandom random)
    {
        const float HeadHeight = 3.65f, EyesBelowVertex = 1.75f, EyesBelowBrow = 0.6f, LargestExtent = 9;
        Quaternion turn = random.Chance(0.65f)
            ? RandomTurn.Within(random, 0.1f) * PoseSampler.AxisFrame(random.Whole(0, 23))
            : RandomTurn.Any(random);
        foreach (ref Vector3 p in mesh.Positions)
        {
            p = Vector3.Transform(p, turn);
        }

        (Vector3 low, Vector3 high) = Bounds(mesh.Positions);
        float share = random.Unit() switch { < 0.6f => 0.8f, < 0.75f => 1.4f, < 0.9f => 0.45f, < 0.97f => 0.25f, _ => 0.14f };
        share *= random.LogUniform(0.8f, 1.25f);
        Vector3 extent = high - low;
        float longest = MathF.Max(extent.X, MathF.Max(extent.Y, extent.Z));
        float scale = MathF.Min(HeadHeight / (share * MathF.Max(extent.Y, 1e-3f)), LargestExtent / MathF.Max(longest, 1e-3f));
        float top = (share > 1 ? EyesBelowBrow : EyesBelowVertex) + random.Uniform(-0.3f, 0.3f);
        float front = MathF.Max(random.Uniform(0.2f, 0.75f), (scale * extent.Z / 2) - 1.25f);
        var place = new Vector3(random.Uniform(-0.3f, 0.3f), top - (scale * extent.Y / 2), front - (scale * extent.Z / 2));
        Vector3 centre = (low + high) / 2;
        foreach (ref Vector3 p in mesh.Positions)
        {
            p = place + (scale * (p - centre));
        }
    }

    private static (Vector3 Low, Vector3 High) Bounds(ReadOnlySpan<Vector3> positions)
    {
        (Vector3 low, Vector3 high) = (positions[0], positions[0]);
        foreach (Vector3 p in positions)
        {
            (low, high) = (Vector3.Min(low, p), Vector3.Max(high, p));
        }

        return (low, high);
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
