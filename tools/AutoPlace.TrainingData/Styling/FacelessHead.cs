using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>Heads of which all that makes a face is gone: eggs with a neck, with or without ears; hair and hats with no head in them.</summary>
internal static class FacelessHead
{
    /// <summary>Appends one with the proportions of a finished shape, which changes.</summary>
    public static void Append(HeadDraft draft, HeadRegions regions, SkinShell shell)
    {
        SeededRandom random = draft.Random;
        bool empty = random.Chance(0.25f);
        if (!empty)
        {
            AppendEgg(draft, regions);
        }

        new HairStyle(random, shell, regions).Append(draft, scalpOnly: true);
        if (empty || random.Chance(0.2f))
        {
            Accessories.AppendHat(draft, shell);
        }

        if (random.Chance(0.4f))
        {
            Accessories.AppendBody(draft);
        }
    }

    // An ellipsoid through vertex, chin and forehead; back, ears and neck of the skin run into it.
    private static void AppendEgg(HeadDraft draft, HeadRegions regions)
    {
        SeededRandom random = draft.Random;
        Vector3[] shape = draft.Shape;
        Vector3 ear = draft.Landmark("tragion_left"), chin = draft.Landmark("menton"), brow = draft.Landmark("glabella");
        int end = draft.Model.Layout.Range(Part.Scalp, draft.Model.VertexCount).End;
        float top = float.NegativeInfinity;
        foreach (Vector3 p in shape.AsSpan(0, end))
        {
            top = MathF.Max(top, p.Y);
        }

        bool earless = random.Chance(0.4f);
        var centre = new Vector3(0, (top + chin.Y) / 2, ear.Z);
        var radii = new Vector3(0.97f * ear.X, top - centre.Y, (brow.Z - ear.Z) * random.Uniform(0.9f, 1.1f));
        float[] smooth = new float[shape.Length];
        for (int v = 0; v < end; v++)
        {
            Vector3 d = shape[v] - centre;
            float above = WarpSampler.SmoothStep(chin.Y - 3, chin.Y - 0.3f, shape[v].Y);
            float front = earless ? 1 : WarpSampler.SmoothStep(-1, 1.5f, d.Z) * (1 - MathF.Min(1, 2 * regions.EarWeight[v]));
            smooth[v] = above * front;
            shape[v] = Vector3.Lerp(shape[v], centre + (d / MathF.Max((d / radii).Length(), 1e-3f)), smooth[v]);
        }

        for (int part = 0; part < draft.Dropped.Length; part++)
        {
            draft.Dropped[part] = (Part)part is not (Part.Face or Part.Scalp);
        }

        HeadAssembly.Assemble(draft, (_, _, _) => Material.Skin);
        WorkMesh mesh = draft.Mesh;
        mesh.KeepTriangles(t => Math.Min(smooth[mesh.Indices[3 * t]], Math.Min(smooth[mesh.Indices[(3 * t) + 1]], smooth[mesh.Indices[(3 * t) + 2]])) < 1);
        Primitives.Ellipsoid(mesh, centre, 0.999f * radii, Quaternion.Identity, random.Whole(16, 30), new Stuff(SurfaceClass.HeadSkin, Material.Skin));
    }
}
