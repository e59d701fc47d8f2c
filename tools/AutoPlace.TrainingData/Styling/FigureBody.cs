using System.Numerics;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>The whole body of a figure whose head is as large as the rest of it, or a little smaller.</summary>
internal static class FigureBody
{
    /// <summary>Appends trunk, arms, hands, legs and feet below the head.</summary>
    public static void Append(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        Vector3 chin = draft.Landmark("menton"), ear = draft.Landmark("tragion_left"), eye = draft.Landmark("eye_centre_left");
        float unit = Vector3.Distance(eye, draft.Landmark("eye_centre_right"));

        // A head is about twice as high as the chin lies below the eyes.
        float head = 2 * (eye.Y - chin.Y), tall = head * random.LogUniform(0.6f, 1.8f), trunk = tall * random.Uniform(0.4f, 0.65f);
        float wide = head * random.Uniform(0.2f, 0.42f), deep = wide * random.Uniform(0.55f, 1), neck = chin.Y + (unit * random.Uniform(-0.3f, 0.4f));
        float axis = ear.Z + (unit * random.Uniform(-0.3f, 0.5f)), limb = wide * random.Uniform(0.22f, 0.45f);
        int rings = random.Whole(4, 10);
        var exponents = new Vector2(random.Uniform(0.4f, 1), random.Uniform(0.4f, 1));
        Primitives.Superquadric(draft.Mesh, new(0, neck - (trunk / 2), axis), new(wide, trunk / 2, deep), Quaternion.Identity, exponents, rings, Stuff.Body);

        float spread = random.Uniform(0.1f, 1.3f), reach = tall * random.Uniform(0.35f, 0.6f), swing = unit * random.Uniform(-0.5f, 0.8f);
        bool ends = random.Chance(0.7f);
        foreach (float side in (ReadOnlySpan<float>)[1, -1])
        {
            (float sin, float cos) = MathF.SinCos(spread);
            var shoulder = new Vector3(side * 0.8f * wide, neck - (0.15f * trunk), axis);
            Vector3 hand = shoulder + (reach * new Vector3(side * sin, -cos, 0)) + new Vector3(0, 0, side * swing);
            Limb(draft, shoulder, hand, limb, rings);
            var hip = new Vector3(side * 0.5f * wide, neck - (0.9f * trunk), axis);
            var foot = new Vector3(side * 0.55f * wide, neck - tall, axis - (side * swing));
            Limb(draft, hip, foot, 1.15f * limb, rings);
            if (ends)
            {
                Primitives.Ellipsoid(draft.Mesh, hand, new(1.1f * limb), Quaternion.Identity, rings, Stuff.Body);
                Primitives.Ellipsoid(draft.Mesh, foot + new Vector3(0, 0, limb), new(1.2f * limb, 0.9f * limb, 2 * limb), Quaternion.Identity, rings, Stuff.Body);
            }
        }
    }

    private static void Limb(HeadDraft draft, Vector3 from, Vector3 to, float radius, int rings)
    {
        Span<Vector3> points = [from, (from + to) / 2, to];
        Span<Vector2> radii = [new(radius), new(0.9f * radius), new(0.75f * radius)];
        Primitives.Tube(draft.Mesh, points, radii, Vector3.UnitZ, rings + 2, closed: false, Stuff.Body);
    }
}
