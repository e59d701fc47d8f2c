using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>Hats, glasses, neck and body pieces, and clutter near the head.</summary>
internal static class Accessories
{
    /// <summary>Draws and appends them.</summary>
    public static void Append(HeadDraft draft, SkinShell shell)
    {
        SeededRandom random = draft.Random;
        if (random.Chance(0.18f))
        {
            AppendHat(draft, shell);
        }

        if (random.Chance(0.08f))
        {
            AppendGlasses(draft);
        }

        if (draft.Kind == HeadKind.Stylised && random.Chance(0.15f))
        {
            FigureBody.Append(draft);
        }
        else if (random.Chance(0.55f))
        {
            AppendBody(draft);
        }

        if (random.Chance(0.25f))
        {
            AppendClutter(draft);
        }
    }

    /// <summary>Appends a cap or a hat.</summary>
    public static void AppendHat(HeadDraft draft, SkinShell shell)
    {
        SeededRandom random = draft.Random;
        MorphableModel model = draft.Model;
        float line = random.Uniform(6.3f, 10), tilt = random.Uniform(-0.35f, 0.15f);
        (Vector3 centre, Vector3 half, float top) = Girth(draft, line, tilt);
        if (random.Chance(0.5f))
        {
            // A cap that follows the skull.
            float thickness = random.Uniform(0.5f, 2);
            shell.Append(draft, v => Above(model, v, line, tilt) > 0 ? thickness : 0, Vector3.Zero, Stuff.Worn);
        }
        else
        {
            // Its lower edge lies on the line, so that it doesn't cover the face.
            float height = 0.55f * random.Uniform(1, 1.8f) * MathF.Max(1, top - centre.Y);
            var exponents = new Vector2(random.Uniform(0.5f, 1), random.LogUniform(0.15f, 2));
            Primitives.Superquadric(
                draft.Mesh,
                centre + new Vector3(0, 0.85f * height, 0),
                new Vector3(half.X * random.Uniform(1.08f, 1.3f), height, half.Z * random.Uniform(1.08f, 1.3f)),
                RandomTurn.Within(random, 0.12f),
                exponents,
                random.Whole(5, 10),
                Stuff.Worn);
        }

        if (random.Chance(0.6f))
        {
            bool peakOnly = random.Chance(0.5f);
            float brim = random.Uniform(1.15f, 1.8f);
            Vector3 radii = peakOnly
                ? new(half.X * random.Uniform(0.6f, 1), random.Uniform(0.2f, 0.6f), half.Z * random.Uniform(0.6f, 1))
                : new(half.X * brim, random.Uniform(0.2f, 0.8f), half.Z * brim);
            Vector3 place = peakOnly ? centre + new Vector3(0, 0, half.Z) : centre;
            Primitives.Superquadric(
                draft.Mesh, place, radii, RandomTurn.Within(random, 0.15f), new(1, random.Uniform(0.2f, 0.8f)), random.Whole(5, 9), Stuff.Worn);
        }
    }

    // Height above a tilted line on the mean.
    private static float Above(MorphableModel model, int vertex, float line, float tilt)
    {
        Vector3 p = model.MeanPositions[vertex];
        return p.Y - line - (tilt * (p.Z - 2));
    }

    // Centre and half axes of the head along that line, and the height of its top.
    private static (Vector3 Centre, Vector3 Half, float Top) Girth(HeadDraft draft, float line, float tilt)
    {
        int end = draft.Model.Layout.Range(Part.Scalp, draft.Model.VertexCount).End;
        var low = new Vector3(float.PositiveInfinity);
        var high = new Vector3(float.NegativeInfinity);
        float top = float.NegativeInfinity;
        for (int v = 0; v < end; v++)
        {
            top = MathF.Max(top, draft.Shape[v].Y);
            if (MathF.Abs(Above(draft.Model, v, line, tilt)) < 1)
            {
                low = Vector3.Min(low, draft.Shape[v]);
                high = Vector3.Max(high, draft.Shape[v]);
            }
        }

        return low.X <= high.X ? ((low + high) / 2, (high - low) / 2, top) : (new(0, top - 4, 0), new(7, 1, 8), top);
    }

    private static void AppendGlasses(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        Vector3 left = draft.Landmark("eye_centre_left"), right = draft.Landmark("eye_centre_right"), bridge = draft.Landmark("nasion");
        float unit = Vector3.Distance(left, right);
        float radius = unit * random.Uniform(0.24f, 0.46f), height = radius * random.Uniform(0.6f, 1.1f), wire = unit * random.LogUniform(0.012f, 0.05f);
        float front = MathF.Max(bridge.Z, draft.Landmark("lid_upper_medial_left").Z) + random.Uniform(0.2f, 1);
        float power = random.Uniform(0.5f, 1), drop = unit * random.Uniform(-0.05f, 0.12f);
        bool lenses = random.Chance(0.3f);
        const int Corners = 18;
        Span<Vector3> rim = stackalloc Vector3[Corners];
        Span<Vector2> radii = stackalloc Vector2[Corners];
        radii.Fill(new Vector2(wire, wire));
        foreach (Vector3 eye in (ReadOnlySpan<Vector3>)[left, right])
        {
            for (int i = 0; i < Corners; i++)
            {
                (float sin, float cos) = MathF.SinCos(2 * MathF.PI * i / Corners);
                rim[i] = new(
                    eye.X + (radius * MathF.CopySign(MathF.Pow(MathF.Abs(cos), power), cos)),
                    eye.Y - drop + (height * MathF.CopySign(MathF.Pow(MathF.Abs(sin), power), sin)),
                    front - (0.06f * MathF.Abs(radius * cos)));
            }

            Primitives.Tube(draft.Mesh, rim, radii, Vector3.UnitZ, 5, closed: true, Stuff.Worn);
            if (lenses)
            {
                Primitives.Ellipsoid(draft.Mesh, new(eye.X, eye.Y - drop, front), new(radius, height, 0.15f * radius), Quaternion.Identity, 6, Stuff.Worn);
            }

            float side = MathF.Sign(eye.X - bridge.X);
            Vector3 ear = draft.Landmark(side > 0 ? "tragion_left" : "tragion_right") + new Vector3(side * 0.4f, 2, -0.5f);
            Span<Vector3> temple = [new(eye.X + (side * radius), eye.Y - drop, front), ear with { Z = (ear.Z + front) / 2 }, ear];
            Primitives.Tube(draft.Mesh, temple, radii[..3], Vector3.UnitY, 4, closed: false, Stuff.Worn);
        }

        Span<Vector3> middle = [new(right.X + radius, right.Y - drop, front), new(bridge.X, left.Y - drop + (0.2f * height), front + 0.3f), new(left.X - radius, left.Y - drop, front)];
        Primitives.Tube(draft.Mesh, middle, radii[..3], Vector3.UnitY, 4, closed: false, Stuff.Worn);
    }

    /// <summary>Appends trunk, arms and collar.</summary>
    public static void AppendBody(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        Vector3 chin = draft.Landmark("menton"), ear = draft.Landmark("tragion_left");
        float unit = Vector3.Distance(draft.Landmark("eye_centre_left"), draft.Landmark("eye_centre_right"));
        float shoulder = chin.Y - (unit * random.Uniform(0.1f, 1.2f)), depth = ear.Z - random.Uniform(0, 3);
        int rings = random.Whole(4, 9);

        // Heads are often turned against their bodies.
        Quaternion turn = random.Chance(0.5f)
            ? RandomTurn.Within(random, 0.15f)
            : Quaternion.CreateFromYawPitchRoll(random.Uniform(-1.1f, 1.1f), random.Uniform(-0.4f, 0.4f), random.Uniform(-0.4f, 0.4f));
        if (random.Chance(0.8f))
        {
            float wide = unit * random.Uniform(1.2f, 3.2f), tall = unit * random.Uniform(0.8f, 3);
            var exponents = new Vector2(random.Uniform(0.5f, 1), random.Uniform(0.5f, 1.2f));
            Primitives.Superquadric(
                draft.Mesh, new(0, shoulder - tall, depth), new(wide, tall, wide * random.Uniform(0.35f, 0.7f)), turn, exponents, rings, Stuff.Body);
        }

        if (random.Chance(0.5f))
        {
            float size = unit * random.Uniform(0.3f, 0.9f), apart = unit * random.Uniform(1, 2.6f);
            foreach (float side in (ReadOnlySpan<float>)[1, -1])
            {
                var neck = new Vector3(0, shoulder, depth);
                var upper = new Vector3(side * apart, -0.5f * size, 0);
                var lower = new Vector3(side * apart * random.Uniform(1, 1.6f), -unit * random.Uniform(1, 4), unit * random.Uniform(-0.5f, 1.5f));
                Span<Vector3> arm = [neck + Vector3.Transform(upper, turn), neck + Vector3.Transform(lower, turn)];
                Span<Vector2> radii = [new(size, size), new(0.7f * size, 0.7f * size)];
                Primitives.Tube(draft.Mesh, arm, radii, Vector3.UnitZ, rings + 2, closed: false, Stuff.Body);
            }
        }

        if (random.Chance(0.5f))
        {
            AppendCollar(draft, unit, new(0, chin.Y - (unit * random.Uniform(0.05f, 0.9f)), depth));
        }
    }

    private static void AppendCollar(HeadDraft draft, float unit, Vector3 centre)
    {
        SeededRandom random = draft.Random;
        const int Corners = 16;
        Span<Vector3> ring = stackalloc Vector3[Corners];
        Span<Vector2> radii = stackalloc Vector2[Corners];
        radii.Fill(unit * new Vector2(random.LogUniform(0.08f, 0.6f), random.LogUniform(0.05f, 0.35f)));
        float wide = unit * random.Uniform(0.7f, 1.6f), deep = wide * random.Uniform(0.7f, 1.1f), slope = random.Uniform(-0.4f, 0.1f);
        for (int i = 0; i < Corners; i++)
        {
            (float sin, float cos) = MathF.SinCos(2 * MathF.PI * i / Corners);
            ring[i] = centre + new Vector3(wide * cos, slope * deep * sin, deep * sin);
        }

        Primitives.Tube(draft.Mesh, ring, radii, Vector3.UnitY, 6, closed: true, Stuff.Body);
    }

    private static void AppendClutter(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        Vector3 middle = (draft.Landmark("eye_centre_left") + draft.Landmark("eye_centre_right")) / 2;
        float unit = Vector3.Distance(draft.Landmark("eye_centre_left"), draft.Landmark("eye_centre_right"));
        int count = random.Whole(1, 5);
        for (int i = 0; i < count; i++)
        {
            // Beside, above, below or behind; seldom in front of the face.
            var direction = Vector3.Normalize(new Vector3(random.Normal(), random.Normal(), (0.5f * random.Normal()) - 0.3f));
            Vector3 centre = middle + new Vector3(0, -0.4f * unit, -0.8f * unit) + (unit * random.Uniform(1.7f, 3) * direction);
            Vector3 radii = unit * new Vector3(random.LogUniform(0.1f, 0.8f), random.LogUniform(0.1f, 0.8f), random.LogUniform(0.1f, 0.8f));
            var exponents = new Vector2(random.Uniform(0.2f, 1.5f), random.Uniform(0.2f, 1.5f));
            Primitives.Superquadric(draft.Mesh, centre, radii, RandomTurn.Any(random), exponents, random.Whole(3, 8), new Stuff(SurfaceClass.Other, Material.Other));
        }
    }
}
