using System.Numerics;
using System.Runtime.InteropServices;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>What happens to a mesh in practice: cuts, holes, decimation, snapping to a grid, noise, flat shading.</summary>
internal sealed class SurfaceQuality
{
    private readonly Decimation _decimation = new();
    private readonly List<int> _salient = [];

    /// <summary>Cuts the neck, the back of the head, or holes as scans have them.</summary>
    public static void Cut(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        float unit = Vector3.Distance(draft.Landmark("eye_centre_left"), draft.Landmark("eye_centre_right"));
        if (random.Chance(0.40f))
        {
            float height = draft.Landmark("menton").Y - (unit * random.Uniform(0.05f, 1)), slope = random.Uniform(-0.5f, 0.3f);
            float axis = draft.Landmark("tragion_left").Z;
            Remove(draft, p => p.Y < height + (slope * (p.Z - axis)), LandmarkState.Absent);
        }

        if (random.Chance(0.18f))
        {
            float depth = draft.Landmark("tragion_left").Z + (unit * random.Uniform(-0.6f, 0.7f)), lean = random.Uniform(-0.3f, 0.3f);
            float middle = draft.Landmark("subnasale").Y;
            Remove(draft, p => p.Z < depth + (lean * (p.Y - middle)), LandmarkState.Absent);
        }

        if (random.Chance(0.10f))
        {
            int count = random.Whole(1, 6);
            int end = draft.Model.Layout.Range(Part.Face, draft.Model.VertexCount).End;
            for (int i = 0; i < count; i++)
            {
                Vector3 centre = draft.Shape[random.Whole(0, end - 1)];
                float radius = random.LogUniform(0.3f, 1.8f);
                Remove(draft, p => Vector3.DistanceSquared(p, centre) < radius * radius, LandmarkState.Implied);
            }
        }
    }

    /// <summary>Decimates half of the heads, snaps a few to a grid.</summary>
    public void Simplify(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        float unit = Vector3.Distance(draft.Landmark("eye_centre_left"), draft.Landmark("eye_centre_right"));
        if (random.Chance(0.50f))
        {
            // Cells of this size leave about 350 to 7,000 vertices of a head.
            float cell = unit * random.LogUniform(0.06f, 0.42f), fineCell = cell * random.Uniform(0.35f, 1);
            Vector3 nose = draft.Landmark("subnasale");
            float reach = 1.3f * unit;
            _salient.Clear();
            for (int v = draft.FeatureVertices.Start.Value; v < draft.FeatureVertices.End.Value; v++)
            {
                _salient.Add(v);
            }

            if (random.Chance(0.75f))
            {
                AddSalient(draft);
            }

            _decimation.Apply(
                draft.Mesh, cell, fineCell, p => Vector3.DistanceSquared(p, nose) < reach * reach, CollectionsMarshal.AsSpan(_salient), random);
            draft.Coarseness = 0.4f * fineCell;
            draft.Flat = random.Chance(0.40f);
        }
        else
        {
            draft.Flat = random.Chance(0.15f);
        }

        if (random.Chance(draft.Kind == HeadKind.Stylised ? 0.05f : 0.01f))
        {
            float step = unit * random.LogUniform(0.03f, 0.12f);
            foreach (ref Vector3 p in draft.Mesh.Positions)
            {
                p = new Vector3(MathF.Round(p.X / step), MathF.Round(p.Y / step), MathF.Round(p.Z / step)) * step;
            }

            draft.Coarseness += step;
        }
    }

    /// <summary>Moves vertices at random by 0.1 to 0.9 mm in three of ten heads; waves of up to 0.9 mm in one of eight.</summary>
    public static void AddNoise(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        if (random.Chance(0.12f))
        {
            float height = random.LogUniform(0.015f, 0.09f), width = random.Uniform(0.5f, 1.2f);
            Span<BumpField.Bump> waves = stackalloc BumpField.Bump[random.Whole(30, 120)];
            for (int i = 0; i < waves.Length; i++)
            {
                Vector3 centre = draft.Shape[random.Whole(0, draft.Model.Layout.PartFirst[(int)Part.MouthSocket] - 1)];
                waves[i] = new(centre, height * new Vector3(random.Normal(), random.Normal(), random.Normal()), 2.2f * width * random.Uniform(0.5f, 1));
            }

            BumpField.Apply(draft.Mesh.Positions, waves);
        }

        if (!random.Chance(0.30f))
        {
            return;
        }

        float amplitude = random.LogUniform(0.01f, 0.09f);
        foreach (ref Vector3 p in draft.Mesh.Positions)
        {
            p += amplitude * new Vector3(random.Uniform(-1.5f, 1.5f), random.Uniform(-1.5f, 1.5f), random.Uniform(-1.5f, 1.5f));
        }
    }

    // Vertices that carry landmarks of the surface, as far as the mesh still uses them.
    private void AddSalient(HeadDraft draft)
    {
        for (int i = 0; i < draft.Landmarks.Length; i++)
        {
            ReadOnlySpan<int> vertices = draft.Carrier.Vertices(i);
            if (vertices.Length <= 3 && draft.States[i] == LandmarkState.Modelled
                && Vector3.Distance(draft.Mesh.Positions[vertices[0]], draft.Landmarks[i]) < 0.5f)
            {
                _salient.Add(vertices[0]);
            }
        }
    }

    private static void Remove(HeadDraft draft, Func<Vector3, bool> removed, LandmarkState lost)
    {
        WorkMesh mesh = draft.Mesh;
        mesh.KeepTriangles(t => !removed(mesh.Positions[mesh.Indices[3 * t]]));
        for (int i = 0; i < draft.Landmarks.Length; i++)
        {
            bool inside = LandmarkNames.All[i].StartsWith("eye_centre", StringComparison.Ordinal);
            if (!inside && draft.States[i] != LandmarkState.Absent && removed(draft.Landmarks[i]))
            {
                draft.States[i] = lost;
            }
        }
    }
}
