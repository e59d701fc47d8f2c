using System.Numerics;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>Tubes: bent pipes, cables, knots, springs, branches, stands. About two units large.</summary>
internal static class BentThings
{
    private static readonly Vector3 Across = Vector3.Normalize(new(0.31f, 0.2f, 0.93f));

    /// <summary>Draws one and appends it about the origin.</summary>
    public static void Append(WorkMesh mesh, SeededRandom random, Stuff stuff)
    {
        float u = random.Unit();
        int segments = random.Whole(4, 14);
        if (u < 0.25f)
        {
            AppendPipes(mesh, random, segments, stuff);
        }
        else if (u < 0.45f)
        {
            AppendKnot(mesh, random, segments, stuff);
        }
        else if (u < 0.55f)
        {
            AppendSpring(mesh, random, segments, stuff);
        }
        else if (u < 0.7f)
        {
            AppendStand(mesh, random, segments, stuff);
        }
        else
        {
            var up = new Vector3(random.Uniform(-0.2f, 0.2f), 1, random.Uniform(-0.2f, 0.2f));
            AppendBranch(mesh, random, new(0, -1, 0), up, random.Uniform(0.4f, 1), random.LogUniform(0.08f, 0.4f), random.Whole(1, 3), segments, stuff);
        }
    }

    private static void AppendPipes(WorkMesh mesh, SeededRandom random, int segments, Stuff stuff)
    {
        int pipes = random.Whole(1, 4);
        for (int pipe = 0; pipe < pipes; pipe++)
        {
            int corners = random.Whole(3, 7);
            Vector3[] path = new Vector3[corners];
            for (int i = 0; i < corners; i++)
            {
                path[i] = 0.7f * new Vector3(random.Normal(), random.Normal(), random.Normal());
            }

            float radius = random.LogUniform(0.05f, 0.3f), taper = random.Chance(0.5f) ? 1 : random.Uniform(0.2f, 1);
            Sweep(mesh, 8 * corners, false, segments, stuff, t =>
            {
                float at = t * (corners - 1);
                int i = Math.Min((int)at, corners - 2);
                return CatmullRom(path[Math.Max(i - 1, 0)], path[i], path[i + 1], path[Math.Min(i + 2, corners - 1)], at - i);
            }, t => radius * (1 + ((taper - 1) * t)));
        }
    }

    // A torus knot: p turns about the axis while q turns about the ring; a plain ring with p = 1, q = 0.
    private static void AppendKnot(WorkMesh mesh, SeededRandom random, int segments, Stuff stuff)
    {
        int p = random.Whole(1, 4), q = random.Whole(0, 5);
        float ring = random.Uniform(0.5f, 0.7f), wide = random.Uniform(0.15f, 0.35f), thick = random.LogUniform(0.06f, 0.25f);
        Sweep(mesh, random.Whole(16, 30) * Math.Max(p, q), true, segments, stuff, t =>
        {
            (float sinP, float cosP) = MathF.SinCos(2 * MathF.PI * p * t);
            (float sinQ, float cosQ) = MathF.SinCos(2 * MathF.PI * q * t);
            float radius = ring + (wide * cosQ);
            return new(radius * cosP, wide * sinQ, radius * sinP);
        }, _ => thick);
    }

    private static void AppendSpring(WorkMesh mesh, SeededRandom random, int segments, Stuff stuff)
    {
        float turns = random.Uniform(2, 8), narrow = random.Uniform(0.2f, 1), thick = random.LogUniform(0.04f, 0.15f), wide = random.Uniform(0.3f, 0.8f);
        Sweep(mesh, (int)(turns * 14), false, segments, stuff, t =>
        {
            (float sin, float cos) = MathF.SinCos(2 * MathF.PI * turns * t);
            float radius = wide * (1 + ((narrow - 1) * t));
            return new(radius * cos, (2 * t) - 1, radius * sin);
        }, _ => thick);
    }

    // Legs that spread from a top, with or without a plate: stools, tables, lamps, hooks.
    private static void AppendStand(WorkMesh mesh, SeededRandom random, int segments, Stuff stuff)
    {
        int legs = random.Whole(1, 6);
        float spread = random.Uniform(0.1f, 0.9f), curve = random.Uniform(-0.6f, 0.6f), thick = random.LogUniform(0.04f, 0.2f), top = random.Uniform(0, 0.4f);
        for (int leg = 0; leg < legs; leg++)
        {
            (float sin, float cos) = MathF.SinCos(2 * MathF.PI * leg / legs);
            var outward = new Vector3(cos, 0, sin);
            Sweep(mesh, 8, false, segments, stuff, t =>
                (outward * (top + (spread * t) + (curve * t * (1 - t)))) + new Vector3(0, 0.7f - (1.6f * t), 0), t => thick * (1 - (0.4f * t)));
        }

        if (random.Chance(0.7f))
        {
            var radii = new Vector3(random.Uniform(0.2f, 1), random.LogUniform(0.04f, 0.5f), random.Uniform(0.2f, 1));
            Primitives.Superquadric(mesh, new(0, 0.75f, 0), radii, Quaternion.Identity, new(random.LogUniform(0.2f, 1), random.LogUniform(0.2f, 1)), 7, stuff);
        }
    }

    private static void AppendBranch(
        WorkMesh mesh, SeededRandom random, Vector3 from, Vector3 direction, float length, float radius, int depth, int segments, Stuff stuff)
    {
        Vector3 bend = 0.3f * new Vector3(random.Normal(), random.Normal(), random.Normal());
        Vector3 to = from + (length * Vector3.Normalize(direction)) + (length * 0.3f * bend);
        Sweep(mesh, 6, false, segments, stuff, t => Vector3.Lerp(from, to, t) + (bend * (length * t * (1 - t))), t => radius * (1 - (0.35f * t)));
        int children = depth > 0 ? random.Whole(1, 4) : 0;
        for (int i = 0; i < children; i++)
        {
            var turned = direction + (0.8f * new Vector3(random.Normal(), 0.4f * random.Normal(), random.Normal()));
            AppendBranch(
                mesh, random, Vector3.Lerp(from, to, random.Uniform(0.4f, 1)), turned, length * random.Uniform(0.4f, 0.9f), radius * random.Uniform(0.4f, 0.9f), depth - 1, segments, stuff);
        }
    }

    private static void Sweep(
        WorkMesh mesh, int count, bool closed, int segments, Stuff stuff, Func<float, Vector3> path, Func<float, float> radiusAt)
    {
        var points = new Vector3[count];
        var radii = new Vector2[count];
        for (int i = 0; i < count; i++)
        {
            float t = (float)i / (closed ? count : count - 1);
            points[i] = path(t);
            radii[i] = new(radiusAt(t));
        }

        Primitives.Tube(mesh, points, radii, Across, segments, closed, stuff);
    }

    private static Vector3 CatmullRom(Vector3 before, Vector3 a, Vector3 b, Vector3 after, float t) =>
        a + (0.5f * t * ((b - before) + (t * ((2 * before) - (5 * a) + (4 * b) - after + (t * ((3 * (a - b)) + after - before))))));
}
