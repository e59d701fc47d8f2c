using System.Numerics;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>Things about an axis: turned wood, bottles, mushrooms, columns, spools, pinions, wheels, fans. About two units large.</summary>
internal static class TurnedThings
{
    /// <summary>Draws one and appends it about the origin, its axis along Y.</summary>
    public static void Append(WorkMesh mesh, SeededRandom random, Stuff stuff)
    {
        float u = random.Unit();
        if (u < 0.6f)
        {
            AppendTurned(mesh, random, stuff);
        }
        else if (u < 0.8f)
        {
            AppendWheels(mesh, random, stuff);
        }
        else
        {
            AppendFan(mesh, random, stuff);
        }
    }

    private static void AppendTurned(WorkMesh mesh, SeededRandom random, Stuff stuff)
    {
        int rows = random.Whole(4, 40);
        float[] radii = new float[rows], heights = new float[rows];
        bool stepped = random.Chance(0.4f);
        float tall = random.LogUniform(0.2f, 1.2f);
        if (stepped)
        {
            Steps(random, radii, heights, tall);
        }
        else
        {
            Waves(random, radii, heights, tall);
        }

        // Flutes, teeth or a flattened section, and a bend.
        int lobes = random.Chance(0.35f) ? random.Whole(3, 16) : 0;
        float depth = lobes > 0 ? random.Uniform(0.03f, 0.25f) : 0, flat = random.Chance(0.25f) ? random.Uniform(0.4f, 0.9f) : 1;
        bool teeth = random.Chance(0.5f);
        float bend = random.Chance(0.2f) ? random.Uniform(-0.7f, 0.7f) : 0;
        int segments = Math.Max(random.Whole(5, 36), 3 * lobes);
        AppendRows(mesh, rows, segments, capped: true, stuff, (row, angle) =>
        {
            float wave = lobes == 0 ? 0 : MathF.Cos(lobes * angle);
            float radius = radii[row] * (1 + (depth * (teeth ? MathF.Sign(wave) : wave)));
            (float sin, float cos) = MathF.SinCos(angle);
            float y = heights[row];
            return new Vector3((radius * cos) + (bend * y * y), y, flat * radius * sin);
        });
    }

    // A smooth outline: a few waves over the height, open or drawn to a point at either end.
    private static void Waves(SeededRandom random, float[] radii, float[] heights, float tall)
    {
        Span<Vector2> waves = stackalloc Vector2[4];
        for (int w = 0; w < waves.Length; w++)
        {
            waves[w] = new(random.Normal() * 0.3f / (w + 1), random.Uniform(0, 2 * MathF.PI));
        }

        float low = random.Unit(), high = random.Unit(), cap = random.Chance(0.25f) ? random.Uniform(0.4f, 0.9f) : 2;
        for (int i = 0; i < radii.Length; i++)
        {
            float t = (float)i / (radii.Length - 1), sum = 0.5f;
            for (int w = 0; w < waves.Length; w++)
            {
                sum += waves[w].X * MathF.Cos((MathF.PI * (w + 1) * t) + waves[w].Y);
            }

            // Rounded ends, and the brim of a cap.
            float ends = MathF.Sqrt(MathF.Min(1, (low + (8 * t)) * (high + (8 * (1 - t))) / 4));
            radii[i] = MathF.Max(0.04f, sum) * ends * (t > cap ? random.Uniform(1.8f, 2) * MathF.Sqrt(MathF.Max(0.01f, (1 - t) / (1 - cap))) : 1);
            heights[i] = tall * ((2 * t) - 1);
        }
    }

    // Cylinders of different width one above the other.
    private static void Steps(SeededRandom random, float[] radii, float[] heights, float tall)
    {
        float radius = random.Uniform(0.3f, 0.8f), height = -tall;
        for (int i = 0; i < radii.Length; i++)
        {
            bool rise = i % 2 == 1;
            height += rise ? 4 * tall / radii.Length * random.Uniform(0.2f, 1.8f) : 0;
            radius = rise ? radius : random.Uniform(0.1f, 0.8f);
            (radii[i], heights[i]) = (radius, height);
        }
    }

    private static void AppendRows(WorkMesh mesh, int rows, int segments, bool capped, Stuff stuff, Func<int, float, Vector3> at)
    {
        int first = mesh.VertexCount;
        for (int row = 0; row < rows; row++)
        {
            for (int s = 0; s < segments; s++)
            {
                mesh.AddVertex(at(row, -2 * MathF.PI * s / segments));
            }
        }

        int Index(int row, int s) => first + (row * segments) + (s % segments);
        for (int s = 0; s < segments; s++)
        {
            for (int row = 0; row + 1 < rows; row++)
            {
                mesh.AddQuad(Index(row, s), Index(row, s + 1), Index(row + 1, s + 1), Index(row + 1, s), stuff.Surface, stuff.Material);
            }
        }

        for (int s = 1; capped && s + 1 < segments; s++)
        {
            mesh.AddTriangle(Index(0, 0), Index(0, s + 1), Index(0, s), stuff.Surface, stuff.Material);
            mesh.AddTriangle(Index(rows - 1, 0), Index(rows - 1, s), Index(rows - 1, s + 1), stuff.Surface, stuff.Material);
        }
    }

    // Toothed wheels, stars, washers and rounded plates, one or several on a shaft.
    private static void AppendWheels(WorkMesh mesh, SeededRandom random, Stuff stuff)
    {
        int wheels = random.Chance(0.6f) ? 1 : random.Whole(2, 4);
        float height = -0.4f * (wheels - 1);
        for (int wheel = 0; wheel < wheels; wheel++, height += 0.8f)
        {
            int teeth = random.Whole(3, 30);
            float outer = random.Uniform(0.5f, 1), depth = random.Uniform(0.05f, 0.5f), half = random.LogUniform(0.04f, 0.4f);
            float hole = random.Chance(0.6f) ? random.Uniform(0.1f, 0.8f) : 0, sharp = random.LogUniform(0.3f, 10), at = height;
            bool spokes = hole > 0.35f && random.Chance(0.5f);
            int segments = Math.Max(12, 6 * teeth);
            AppendRows(mesh, hole > 0 ? 5 : 4, segments, capped: hole == 0, stuff, (row, angle) =>
            {
                float profile = MathF.Tanh(sharp * MathF.Cos(teeth * angle)) / MathF.Tanh(sharp);
                float rim = outer * (1 - (depth * (0.5f - (0.5f * profile)))), radius = row is 1 or 2 ? rim : MathF.Max(hole, 0.02f) * outer * (1 - depth);
                (float sin, float cos) = MathF.SinCos(angle);
                return new(radius * cos, at + (row % 4 < 2 ? -half : half), radius * sin);
            });
            int count = spokes ? random.Whole(3, 8) : 0;
            for (int i = 0; i < count; i++)
            {
                Quaternion turn = Quaternion.CreateFromAxisAngle(Vector3.UnitY, MathF.PI * i / count);
                Primitives.Superquadric(mesh, new(0, at, 0), new(0.9f * outer * (1 - depth), 0.6f * half, 0.08f), turn, new(0.3f, 0.3f), 5, stuff);
            }
        }

        if (random.Chance(wheels > 1 ? 0.9f : 0.3f))
        {
            float length = random.Uniform(0.5f, 2);
            Primitives.Superquadric(mesh, Vector3.Zero, new(0.15f, length, 0.15f), Quaternion.Identity, new(1, 0.15f), 8, stuff);
        }
    }

    // Blades about a hub.
    private static void AppendFan(WorkMesh mesh, SeededRandom random, Stuff stuff)
    {
        int blades = random.Whole(2, 14), rows = random.Whole(1, 2);
        float pitch = random.Uniform(-0.9f, 0.9f), hub = random.Uniform(0.12f, 0.4f), sweep = random.Uniform(-0.4f, 0.4f);
        var radii = new Vector3(random.Uniform(0.3f, 0.6f), random.LogUniform(0.08f, 0.4f), random.LogUniform(0.02f, 0.12f));
        var exponents = new Vector2(random.LogUniform(0.3f, 1.2f), random.LogUniform(0.3f, 1.2f));
        Primitives.Superquadric(mesh, Vector3.Zero, new(hub, hub * random.Uniform(0.5f, 3), hub), Quaternion.Identity, new(1, random.Uniform(0.2f, 1)), 8, stuff);
        for (int i = 0; i < blades * rows; i++)
        {
            Quaternion around = Quaternion.CreateFromAxisAngle(Vector3.UnitY, 2 * MathF.PI * i / blades);
            Quaternion turn = around * Quaternion.CreateFromAxisAngle(Vector3.UnitX, pitch) * Quaternion.CreateFromAxisAngle(Vector3.UnitZ, sweep);
            var offset = new Vector3(hub + (0.8f * radii.X), rows == 1 ? 0 : i < blades ? -0.3f : 0.3f, 0);
            Primitives.Superquadric(mesh, Vector3.Transform(offset, around), radii, turn, exponents, 6, stuff);
        }
    }
}
