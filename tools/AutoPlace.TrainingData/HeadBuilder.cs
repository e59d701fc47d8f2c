using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData;

/// <summary>
/// Builds heads. Head n of a seed is the same whatever was built before it and on whichever thread. One for each
/// thread.
/// </summary>
internal sealed class HeadBuilder
{
    private static readonly int EyeLeft = LandmarkNames.IndexOf("eye_centre_left");
    private static readonly int EyeRight = LandmarkNames.IndexOf("eye_centre_right");
    private readonly MorphableModel _model;
    private readonly HeadDraft _draft;
    private readonly float[] _identity;

    /// <summary>Prepares buffers.</summary>
    public HeadBuilder(MorphableModel model, LandmarkCarrier carrier)
    {
        _model = model;
        _draft = new HeadDraft(model, carrier);
        _identity = new float[model.IdentityCount];
    }

    /// <summary>Builds a head.</summary>
    /// <param name="number">Its number, kept in the sample.</param>
    /// <param name="random">Its own stream of random numbers.</param>
    /// <param name="kind">Its kind.</param>
    public HeadSample Build(int number, SeededRandom random, HeadKind kind)
    {
        HeadDraft draft = _draft;
        draft.Begin(random, kind);
        HeadShapeSampler.Sample(random, kind, _identity);
        ExpressionSampler.Sample(_model, random, draft.Expression);
        _model.Synthesize(_identity, draft.Expression, draft.Shape);
        if (random.Chance(0.85f))
        {
            float strength = kind switch
            {
                HeadKind.Realistic => 0.3f,
                HeadKind.StrongWarp => 1,
                _ => random.Chance(0.5f) ? 1 : 0.45f,
            };
            new WarpSampler(_model, draft.Carrier, random, strength).Apply(draft.Shape);
        }

        draft.CarryLandmarks();
        HeadAssembly.Assemble(draft);
        return Finish(number);
    }

    private HeadSample Finish(int number)
    {
        WorkMesh mesh = _draft.Mesh;
        Vector3 left = _draft.Landmarks[EyeLeft], right = _draft.Landmarks[EyeRight];
        Vector3 origin = (left + right) / 2;
        float scale = 1 / Vector3.Distance(left, right);
        var positions = new Vector3[mesh.VertexCount];
        for (int v = 0; v < positions.Length; v++)
        {
            positions[v] = (mesh.Positions[v] - origin) * scale;
        }

        var triangles = new TriangleMesh(positions, mesh.Indices.ToArray());
        return new HeadSample
        {
            Number = number,
            Kind = _draft.Kind,
            Mesh = triangles,
            Normals = _draft.Flat ? TriangleNormals(triangles) : VertexNormals.AngleWeighted(triangles),
            Flat = _draft.Flat,
            Atlas = mesh.Atlas.ToArray(),
            Classes = mesh.Classes.ToArray(),
            Materials = mesh.Materials.ToArray(),
            Landmarks = [.. _draft.Landmarks.Select(p => (p - origin) * scale)],
            States = [.. _draft.States],
            Tolerance = VisibilityTolerance.Of(_draft, scale),
        };
    }

    private static Vector3[] TriangleNormals(TriangleMesh mesh)
    {
        var normals = new Vector3[mesh.TriangleCount];
        for (int t = 0; t < normals.Length; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            Vector3 cross = Vector3.Cross(b - a, c - a);
            float length = cross.Length();
            normals[t] = length > 0 ? cross / length : Vector3.UnitZ;
        }

        return normals;
    }
}
