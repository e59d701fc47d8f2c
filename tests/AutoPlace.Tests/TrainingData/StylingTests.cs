using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;
using AutoPlace.TrainingData.Styling;
using Xunit;

namespace AutoPlace.Tests.TrainingData;

public sealed class StylingTests
{
    private static readonly MorphableModel Model = TinyMorphable.Model;

    [Fact]
    public void Scanned_mean_shows_its_own_atlas_points()
    {
        var scan = new ScanResampling();
        int scanned = 0;
        for (ulong item = 0; item < 200; item++)
        {
            HeadDraft draft = Mean(item);
            int before = draft.Mesh.TriangleCount;
            scan.Apply(draft);
            if (draft.Mesh.TriangleCount == before && draft.Coarseness == 0)
            {
                continue;
            }

            scanned++;
            Assert.True(draft.Mesh.TriangleCount > 300);
            (int checkedCorners, int off) = (0, 0);
            for (int i = 0; i < draft.Mesh.Indices.Length; i++)
            {
                int v = draft.Mesh.Indices[i];
                if (draft.Mesh.Classes[i / 3] != SurfaceClass.HeadSkin)
                {
                    continue;
                }

                Vector3 onMean = (draft.Mesh.Atlas[v] * Model.AtlasScale) + Model.AtlasOrigin;
                checkedCorners++;
                off += Vector3.Distance(onMean, draft.Mesh.Positions[v]) > 0.05f + draft.Coarseness ? 1 : 0;
            }

            // Smoothing along the rays moves points where the surface is steep, at the grid's edge above all.
            Assert.True(off < 0.03 * checkedCorners, $"item {item}: {off} of {checkedCorners}");
        }

        // One in fourteen; 200 draws of 7 % leave this range once in ten thousand times.
        Assert.InRange(scanned, 3, 30);
    }

    [Fact]
    public void Coverings_and_ears_are_made_of_what_they_should_be()
    {
        int covered = 0;
        for (ulong item = 0; item < 100; item++)
        {
            HeadDraft draft = Mean(item);
            int before = draft.Mesh.TriangleCount;
            Coverings.Append(draft, new SkinShell(Model));
            covered += draft.Mesh.TriangleCount > before ? 1 : 0;
            Assert.All(draft.Mesh.Classes[before..].ToArray(), c => Assert.Equal(SurfaceClass.OnHead, c));
            int worn = draft.Mesh.TriangleCount;
            EarPiece.Append(draft, new HeadRegions(Model));
            Assert.All(draft.Mesh.Classes[worn..].ToArray(), c => Assert.Equal(SurfaceClass.HeadSkin, c));
        }

        Assert.InRange(covered, 1, 30);
    }

    [Fact]
    public void Expressions_stay_in_range_and_are_often_uneven()
    {
        float[] weights = new float[Model.ExpressionNames.Count];
        for (ulong item = 0; item < 500; item++)
        {
            ExpressionSampler.Sample(Model, new SeededRandom(1, 2, item), weights);
            Assert.All(weights, w => Assert.InRange(w, 0, 1));
        }
    }

    private static HeadDraft Mean(ulong item)
    {
        var draft = new HeadDraft(Model, new LandmarkCarrier(Model));
        draft.Begin(new SeededRandom(5, 1, item), HeadKind.Realistic);
        Model.MeanPositions.CopyTo(draft.Shape, 0);
        draft.CarryLandmarks();
        HeadAssembly.Assemble(draft, (_, _, _) => Material.Skin);
        return draft;
    }
}
