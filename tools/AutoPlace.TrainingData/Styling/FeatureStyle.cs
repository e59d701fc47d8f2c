using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>Noses, mouths, ears and brows of stylised heads, and smoothing of the whole.</summary>
internal sealed class FeatureStyle
{
    private readonly HeadRegions _regions;
    private readonly Smoothing _smoothing;
    private readonly bool _toy;
    private readonly bool _separateNose;
    private readonly bool _blurredNose;
    private readonly float _erasedMouth;
    private readonly EarMake _ears;
    private readonly bool _smoothed;
    private readonly bool _separateBrows;

    private enum EarMake
    {
        Modelled,
        Blurred,
        Pointed,
        Removed,
        Replaced,
    }

    /// <summary>Draws a style; a toy has most of its features as separate pieces on a smooth head.</summary>
    public FeatureStyle(SeededRandom random, HeadKind kind, bool toy, HeadRegions regions, Smoothing smoothing)
    {
        (_regions, _smoothing) = (regions, smoothing);
        bool stylised = kind == HeadKind.Stylised;
        _toy = toy;
        _separateNose = random.Chance(toy ? 0.75f : stylised ? 0.28f : 0);
        _blurredNose = random.Chance(stylised ? 0.25f : 0.03f);
        _erasedMouth = random.Chance(toy ? 0.65f : stylised ? 0.25f : 0) ? random.Uniform(0.3f, 1.2f) : 0;
        float ears = random.Unit();
        _ears = !random.Chance(toy ? 0.6f : stylised ? 0.30f : 0.04f) ? EarMake.Modelled
            : ears < 0.3f ? EarMake.Blurred : ears < 0.5f ? EarMake.Pointed : ears < 0.75f ? EarMake.Removed : EarMake.Replaced;
        _smoothed = random.Chance(toy ? 0.9f : stylised ? 0.40f : 0.12f);
        _separateBrows = random.Chance(toy ? 0.65f : stylised ? 0.40f : 0.12f);
    }

    /// <summary>The mouth isn't modelled any more.</summary>
    public bool MouthIsErased => _erasedMouth > 0.8f;

    /// <summary>Deforms the shape in place; landmarks are carried afterwards by the caller.</summary>
    public void Deform(HeadDraft draft)
    {
        Vector3[] shape = draft.Shape;
        SeededRandom random = draft.Random;
        if (_ears != EarMake.Modelled)
        {
            DeformEars(draft);
        }

        if (_separateNose || _blurredNose)
        {
            Vector3 bridge = (draft.Landmark("nasion") + draft.Landmark("subnasale")) / 2;
            float radius = 1.3f * Vector3.Distance(draft.Landmark("nasion"), draft.Landmark("subnasale"));
            if (_separateNose)
            {
                FlattenNose(draft, bridge, radius);
            }

            _smoothing.Apply(draft, _separateNose ? 25 : random.Whole(4, 20), v => 2 * WarpSampler.Bump(shape[v] - bridge, radius));
        }

        if (_erasedMouth > 0)
        {
            EraseMouth(draft);
        }

        if (_smoothed)
        {
            float amount = random.Uniform(0.3f, 1);
            _smoothing.Apply(draft, _toy ? random.Whole(8, 40) : random.Whole(1, 14), _ => amount);
        }
    }

    /// <summary>Sets how landmarks exist, on the final shape before assembly.</summary>
    public void MarkStates(HeadDraft draft)
    {
        if (_erasedMouth > 0.8f && !draft.HasMaterials)
        {
            foreach (string detail in (ReadOnlySpan<string>)["lip_", "labiale", "crista"])
            {
                draft.SetStates(detail, LandmarkState.Absent);
            }

            draft.SetStates("cheilion", LandmarkState.Implied);
            draft.SetStates("stomion", LandmarkState.Implied);
        }

        if (_ears == EarMake.Removed)
        {
            draft.SetStates("tragion", LandmarkState.Implied);
        }

        if (_blurredNose)
        {
            draft.SetStates("nostril", LandmarkState.Implied);
        }
    }

    /// <summary>Appends separate noses, ears and brows.</summary>
    public void Append(HeadDraft draft)
    {
        if (_ears == EarMake.Replaced)
        {
            EarPiece.Append(draft, _regions);
        }

        if (_separateNose)
        {
            NoseShape.Append(draft);
        }

        if (_separateBrows)
        {
            AppendBrows(draft);
        }
    }

    private static void FlattenNose(HeadDraft draft, Vector3 bridge, float radius)
    {
        float baseDepth = draft.Landmark("alare_left").Z - 0.4f;
        foreach (ref Vector3 p in draft.Shape.AsSpan())
        {
            float above = p.Z - baseDepth;
            if (above > 0)
            {
                p.Z -= 0.85f * above * MathF.Min(1, 2 * WarpSampler.Bump(p - bridge, radius)) * WarpSampler.SmoothStep(2.5f, 1, MathF.Abs(p.X));
            }
        }
    }

    // The lips' rims grow together, then the relief is smoothed away.
    private void EraseMouth(HeadDraft draft)
    {
        foreach (Part part in (ReadOnlySpan<Part>)[Part.MouthSocket, Part.GumsTongue, Part.UpperTeeth, Part.LowerTeeth])
        {
            draft.Dropped[(int)part] = true;
        }

        Vector3[] shape = draft.Shape;
        Vector3 stomion = draft.Landmark("stomion");
        float radius = 1.1f * Vector3.Distance(draft.Landmark("cheilion_left"), draft.Landmark("cheilion_right"));
        float amount = MathF.Min(1, _erasedMouth);
        int rounds = _erasedMouth > 0.8f ? 60 : draft.Random.Whole(8, 30);
        _smoothing.Apply(draft, rounds, v => amount * 2 * WarpSampler.Bump(shape[v] - stomion, radius), _regions.MouthSeam);
    }

    private void DeformEars(HeadDraft draft)
    {
        Vector3[] shape = draft.Shape;
        float[] weight = _regions.EarWeight;
        if (_ears == EarMake.Blurred)
        {
            _smoothing.Apply(draft, draft.Random.Whole(5, 25), v => weight[v]);
            return;
        }

        float length = draft.Random.Uniform(1, 6), back = draft.Random.Uniform(-0.6f, 0.8f), outward = draft.Random.Uniform(0, 1);
        float removed = draft.Random.Uniform(0.75f, 1);
        Vector3 left = draft.Landmark("tragion_left"), right = draft.Landmark("tragion_right");
        for (int v = 0; v < shape.Length; v++)
        {
            if (weight[v] <= 0)
            {
                continue;
            }

            Vector3 root = shape[v].X > 0 ? left : right;
            if (_ears is EarMake.Removed or EarMake.Replaced)
            {
                shape[v].X += removed * weight[v] * (root.X - (0.3f * MathF.Sign(root.X)) - shape[v].X);
                continue;
            }

            float tip = WarpSampler.SmoothStep(0.5f, 4, shape[v].Y - root.Y) * weight[v];
            shape[v] += tip * tip * length * new Vector3(MathF.Sign(root.X) * outward, 1, -back);
        }

        if (_ears is EarMake.Removed or EarMake.Replaced)
        {
            _smoothing.Apply(draft, 25, v => weight[v]);
        }
    }

    private static void AppendBrows(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        float unit = Vector3.Distance(draft.Landmark("eye_centre_left"), draft.Landmark("eye_centre_right"));
        float height = unit * random.LogUniform(0.025f, 0.11f), depth = height * random.Uniform(0.4f, 1.1f);
        float lift = unit * random.Uniform(0, 0.05f), up = unit * random.Uniform(-0.03f, 0.1f);
        int segments = random.Whole(4, 8);
        bool tapered = random.Chance(0.6f);
        Span<Vector3> points = stackalloc Vector3[5];
        Span<Vector2> radii = stackalloc Vector2[5];
        foreach (string side in (ReadOnlySpan<string>)["left", "right"])
        {
            for (int i = 0; i < 5; i++)
            {
                int landmark = LandmarkNames.IndexOf($"brow_{i + 1}_{side}");
                draft.Landmarks[landmark] += new Vector3(0, up, lift);
                points[i] = draft.Landmarks[landmark];
                float taper = tapered ? 1 - (0.16f * i) : 1;
                radii[i] = new Vector2(height, depth) * taper;
                draft.Landmarks[landmark].Z += depth * taper;
            }

            Primitives.Tube(draft.Mesh, points, radii, Vector3.UnitY, segments, closed: false, new Stuff(SurfaceClass.OnHead, Material.Brows));
        }
    }
}
