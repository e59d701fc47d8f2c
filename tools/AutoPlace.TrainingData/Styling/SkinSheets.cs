using System.Numerics;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>
/// Patches of skin that lie a second time over or under the first, as on heads put together from pieces: over ears, lids,
/// lips, nose, brows. Where a head is decimated, each sheet gets triangles of its own.
/// </summary>
internal static class SkinSheets
{
    private static readonly string[] Centres = ["exocanthion", "endocanthion", "lid_lower_medial", "cheilion", "alare", "tragion", "brow_3"];

    /// <summary>Appends sheets to one in twelve heads, called on the assembled mesh.</summary>
    public static void Append(HeadDraft draft, SkinShell shell, HeadRegions regions)
    {
        SeededRandom random = draft.Random;
        if (!random.Chance(draft.Kind == HeadKind.Stylised ? 0.12f : 0.05f))
        {
            return;
        }

        float unit = Vector3.Distance(draft.Landmark("eye_centre_left"), draft.Landmark("eye_centre_right"));
        int count = random.Whole(1, 3);
        for (int i = 0; i < count; i++)
        {
            // Within what counts as visible, so that a landmark under a sheet is still seen.
            float lift = unit * random.Uniform(-0.01f, 0.03f);
            if (random.Chance(0.25f))
            {
                shell.AppendSkin(draft, v => regions.EarWeight[v], lift);
                continue;
            }

            string name = Centres[random.Whole(0, Centres.Length - 1)];
            float radius = unit * random.LogUniform(0.12f, 0.6f);
            bool both = random.Chance(0.75f);
            Vector3 left = draft.Landmark(name + "_left"), right = both ? draft.Landmark(name + "_right") : left;
            shell.AppendSkin(draft, v => 2 * MathF.Max(WarpSampler.Bump(draft.Shape[v] - left, radius), WarpSampler.Bump(draft.Shape[v] - right, radius)), lift);
        }
    }
}
