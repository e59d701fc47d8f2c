using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Output;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.Tests.TrainingData;

/// <summary>Heads and records that the tests share.</summary>
internal static class TrainingHeads
{
    /// <summary>The mean of the tiny model in its own head frame, which is the atlas.</summary>
    public static HeadSample Mean()
    {
        MorphableModel model = TinyMorphable.Model;
        var carrier = new LandmarkCarrier(model);
        var draft = new HeadDraft(model, carrier);
        draft.Begin(new SeededRandom(1, 1, 1), HeadKind.Realistic);
        model.MeanPositions.CopyTo(draft.Shape, 0);
        draft.CarryLandmarks();
        HeadAssembly.Assemble(draft, (_, _, _) => Material.Skin);
        Vector3 ToAtlas(Vector3 p) => (p - model.AtlasOrigin) / model.AtlasScale;
        var mesh = new TriangleMesh([.. model.MeanPositions.Select(ToAtlas)], draft.Mesh.Indices.ToArray());
        return new HeadSample
        {
            Number = 3,
            Kind = HeadKind.Realistic,
            Mesh = mesh,
            Normals = VertexNormals.AngleWeighted(mesh),
            Flat = false,
            Atlas = model.Atlas,
            Classes = draft.Mesh.Classes.ToArray(),
            Materials = draft.Mesh.Materials.ToArray(),
            Landmarks = [.. draft.Landmarks.Select(ToAtlas)],
            Replaced = new Vector3[draft.Landmarks.Length],
            Shape = [.. model.MeanPositions.Select(ToAtlas)],
            States = [.. draft.States],
            Tolerance = VisibilityTolerance.Of(draft, 1 / model.AtlasScale),
        };
    }

    /// <summary>Head n of a seed.</summary>
    public static HeadSample Random(int number, HeadKind kind)
    {
        MorphableModel model = TinyMorphable.Model;
        var builder = new HeadBuilder(model, new LandmarkCarrier(model), new HeadRegions(model));
        return builder.Build(number, new SeededRandom(11, 2, (ulong)number), kind);
    }

    /// <summary>The same head seen in a mirror, with sides renamed.</summary>
    public static HeadSample Mirrored(HeadSample head)
    {
        static Vector3 Flip(Vector3 p) => p with { X = -p.X };
        int[] indices = head.Mesh.Indices.ToArray();
        int[] other = [.. LandmarkNames.All.Select(name => LandmarkNames.IndexOf(LandmarkNames.Mirror(name)))];
        return new HeadSample
        {
            Number = head.Number,
            Kind = head.Kind,
            Mesh = new TriangleMesh([.. head.Mesh.Positions.ToArray().Select(Flip)], indices),
            Normals = [.. head.Normals.Select(Flip)],
            Flat = head.Flat,
            Atlas = [.. head.Atlas.Select(Flip)],
            Classes = head.Classes,
            Materials = head.Materials,
            Landmarks = [.. other.Select(i => Flip(head.Landmarks[i]))],
            Replaced = [.. other.Select(i => Flip(head.Replaced[i]))],
            Shape = [.. head.Shape.Select(Flip)],
            States = [.. other.Select(i => head.States[i])],
            Tolerance = [.. other.Select(i => head.Tolerance[i])],
        };
    }

    public static byte[] Record(HeadSample head, SampledView view)
    {
        byte[] record = new byte[RecordLayout.RecordBytes];
        new ViewRecorder().Write(head, view, record);
        return record;
    }
}
