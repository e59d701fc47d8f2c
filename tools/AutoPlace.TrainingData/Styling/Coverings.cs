using System.Numerics;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>Things worn over the face or all around it: helmets and hoods, face masks, masks and visors over the eyes.</summary>
internal static class Coverings
{
    /// <summary>Draws and appends them.</summary>
    public static void Append(HeadDraft draft, SkinShell shell)
    {
        SeededRandom random = draft.Random;
        float u = random.Unit();
        if (u < 0.05f)
        {
            AppendHelmet(draft, shell);
        }
        else if (u < 0.08f)
        {
            AppendFaceMask(draft, shell);
        }
        else if (u < 0.105f)
        {
            AppendEyeBand(draft, shell);
        }
    }

    // All of the head but an opening for the face, with horns or a crest on some.
    private static void AppendHelmet(HeadDraft draft, SkinShell shell)
    {
        SeededRandom random = draft.Random;
        MorphableModel model = draft.Model;
        float top = random.Uniform(5.5f, 9), bottom = random.Chance(0.5f) ? random.Uniform(-9, -6) : -40;
        float width = random.Uniform(4.2f, 6.8f), back = random.Uniform(1, 6), hem = random.Uniform(-13, -3);
        float thickness = random.LogUniform(0.4f, 2.4f), rim = random.Uniform(1, 1.6f);
        shell.Append(
            draft,
            v =>
            {
                Vector3 p = model.MeanPositions[v];
                float open = MathF.Min(MathF.Min(top - p.Y, p.Y - bottom), MathF.Min(width - MathF.Abs(p.X), p.Z - back));
                return open > 0 || p.Y < hem ? 0 : thickness * (open > -0.8f ? rim : 1);
            },
            Vector3.Zero,
            Stuff.Worn);
        if (random.Chance(0.35f))
        {
            Vector3 crown = draft.Landmark("glabella") + new Vector3(0, random.Uniform(4, 8), -random.Uniform(3, 9));
            bool horns = random.Chance(0.6f);
            var radii = new Vector3(random.Uniform(0.6f, 1.8f), random.Uniform(2, 6), random.Uniform(0.8f, horns ? 1.8f : 7));
            foreach (float side in horns ? (ReadOnlySpan<float>)[1, -1] : [0])
            {
                Quaternion turn = Quaternion.CreateFromAxisAngle(Vector3.UnitZ, -side * random.Uniform(0.1f, 1));
                Primitives.Superquadric(
                    draft.Mesh, crown + new Vector3(side * random.Uniform(3, 7), 0, 0), radii, turn, new(1, random.Uniform(0.7f, 1.5f)), 6, Stuff.Worn);
            }
        }
    }

    private static void AppendFaceMask(HeadDraft draft, SkinShell shell)
    {
        SeededRandom random = draft.Random;
        MorphableModel model = draft.Model;
        float top = random.Uniform(-1.5f, 2.2f), bottom = random.Uniform(-10, -6.5f), back = random.Uniform(0, 6), thickness = random.LogUniform(0.12f, 0.9f);
        shell.Append(
            draft,
            v =>
            {
                Vector3 p = model.MeanPositions[v];
                return p.Y < top - (0.25f * MathF.Abs(p.X)) && p.Y > bottom && p.Z > back ? thickness : 0;
            },
            Vector3.Zero,
            Stuff.Worn);
    }

    // With holes for the eyes, or without as a visor.
    private static void AppendEyeBand(HeadDraft draft, SkinShell shell)
    {
        SeededRandom random = draft.Random;
        MorphableModel model = draft.Model;
        Vector3 eye = model.Landmarks["eye_centre_left"];
        float above = random.Uniform(1, 3.5f), below = random.Uniform(0.8f, 2.5f), back = random.Uniform(0, 7), thickness = random.LogUniform(0.1f, 1.2f);
        float hole = random.Chance(0.7f) ? random.Uniform(1.3f, 1.9f) : 0;
        shell.Append(
            draft,
            v =>
            {
                Vector3 p = model.MeanPositions[v];
                float dx = MathF.Abs(p.X) - eye.X, dy = 1.4f * (p.Y - eye.Y);
                bool band = p.Y < eye.Y + above && p.Y > eye.Y - below && p.Z > back;
                return band && (dx * dx) + (dy * dy) > hole * hole ? thickness : 0;
            },
            Vector3.Zero,
            Stuff.Worn);
    }
}
