using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;
using AutoPlace.TrainingData.Styling;

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
    private readonly HeadRegions _regions;
    private readonly Smoothing _smoothing;
    private readonly SkinShell _shell;
    private readonly SurfaceQuality _quality = new();
    private readonly ScanResampling _scan = new();
    private readonly NonHead _nonHead = new();
    private readonly float[] _identity;

    /// <summary>Prepares buffers.</summary>
    public HeadBuilder(MorphableModel model, LandmarkCarrier carrier, HeadRegions regions)
    {
        _model = model;
        _draft = new HeadDraft(model, carrier);
        _regions = regions;
        _smoothing = new Smoothing(model, regions);
        _shell = new SkinShell(model);
        _identity = new float[model.IdentityCount];
    }

    /// <summary>Builds a head, or a shape that is none.</summary>
    /// <param name="number">Its number, kept in the sample.</param>
    /// <param name="random">Its own stream of random numbers.</param>
    /// <param name="kind">Its kind.</param>
    public HeadSample Build(int number, SeededRandom random, HeadKind kind)
    {
        _draft.Begin(random, kind);
        _draft.HasMaterials = random.Chance(0.5f);
        if (kind == HeadKind.NonHead)
        {
            return BuildNonHead(number, random);
        }

        // Figures whose features are all pieces on a plain surface: what is drawn one by one would seldom come together.
        bool toy = kind == HeadKind.Stylised && random.Chance(0.25f);
        EyeStyle eyes = EyeStyle.Draw(random, kind, toy);
        _draft.HasMaterials |= eyes.Make == EyeMake.Painted && random.Chance(0.5f);
        var features = new FeatureStyle(random, kind, toy, _regions, _smoothing);
        var hair = new HairStyle(random, _shell, _regions);
        var painted = new PaintedMaterials(random, kind, features.MouthIsErased);
        Shape(eyes, features);
        hair.Lift(_draft);
        DropParts(random);
        HeadAssembly.Assemble(_draft, (a, b, c) => painted.Of(_regions, a, b, c));
        eyes.Finish(_draft);
        SkinSheets.Append(_draft, _shell, _regions);
        features.Append(_draft);
        _draft.FeatureVertices = _model.VertexCount.._draft.Mesh.VertexCount;
        SurfaceQuality.Cut(_draft);
        bool simplifyAll = random.Chance(0.5f);
        if (!simplifyAll)
        {
            _quality.Simplify(_draft);
        }

        hair.Append(_draft);
        Accessories.Append(_draft, _shell);
        Coverings.Append(_draft, _shell);
        if (simplifyAll)
        {
            _quality.Simplify(_draft);
        }

        _scan.Apply(_draft);
        SurfaceQuality.AddNoise(_draft);
        return FinishInHeadFrame(number);
    }

    private HeadSample BuildNonHead(int number, SeededRandom random)
    {
        if (random.Chance(0.12f))
        {
            HeadShapeSampler.Sample(random, HeadKind.Realistic, _identity);
            _model.Synthesize(_identity, _draft.Expression, _draft.Shape);
            new WarpSampler(_model, _draft.Carrier, random, random.Chance(0.5f) ? 1 : 0.3f).Apply(_draft.Shape);
            _draft.CarryLandmarks();
            FacelessHead.Append(_draft, _regions, _shell);
            Array.Fill(_draft.States, LandmarkState.Absent);
            _quality.Simplify(_draft);
            SurfaceQuality.AddNoise(_draft);
            return FinishInHeadFrame(number);
        }

        _nonHead.Append(_draft.Mesh, random);
        Array.Fill(_draft.States, LandmarkState.Absent);
        _draft.Flat = random.Chance(0.25f);
        return Finish(number, Vector3.Zero, 1);
    }

    // Identity, expression, warps and the features' own deformation; landmarks are those of the result.
    private void Shape(EyeStyle eyes, FeatureStyle features)
    {
        (SeededRandom random, HeadKind kind) = (_draft.Random, _draft.Kind);
        HeadShapeSampler.Sample(random, kind, _identity);
        ExpressionSampler.Sample(_model, random, _draft.Expression);
        if (eyes.ClosesLids)
        {
            ExpressionSampler.CloseLids(_model, _draft.Expression, 1);
        }

        _model.Synthesize(_identity, _draft.Expression, _draft.Shape);
        if (random.Chance(0.85f))
        {
            float strength = kind switch
            {
                HeadKind.Realistic => 0.3f,
                HeadKind.StrongWarp => 1,
                _ => random.Chance(0.5f) ? 1 : 0.45f,
            };
            new WarpSampler(_model, _draft.Carrier, random, strength).Apply(_draft.Shape);
        }

        _draft.CarryLandmarks();
        eyes.Prepare(_draft, _smoothing, _regions);
        features.Deform(_draft);
        _draft.CarryLandmarks();
        features.MarkStates(_draft);
    }

    private void DropParts(SeededRandom random)
    {
        bool toothless = random.Chance(0.5f);
        if (toothless || LipsAreClosed())
        {
            _draft.Dropped[(int)Part.GumsTongue] = true;
            _draft.Dropped[(int)Part.UpperTeeth] = true;
            _draft.Dropped[(int)Part.LowerTeeth] = true;
            _draft.Dropped[(int)Part.MouthSocket] |= toothless && random.Chance(0.5f);
        }

        _draft.Dropped[(int)Part.Lashes] |= random.Chance(0.65f);
        _draft.Dropped[(int)Part.EyeOcclusion] |= random.Chance(0.8f);
        _draft.Dropped[(int)Part.EyeShells] |= random.Chance(0.5f);
    }

    // Behind closed lips nothing is seen, and a third of all triangles lies there.
    private bool LipsAreClosed()
    {
        const float ClosedGapToWidth = 0.028f;
        float Gap(string side) => Vector3.Distance(_draft.Landmark("lip_contact_upper" + side), _draft.Landmark("lip_contact_lower" + side));
        return MathF.Max(Gap(""), MathF.Max(Gap("_left"), Gap("_right")))
            < ClosedGapToWidth * Vector3.Distance(_draft.Landmark("cheilion_left"), _draft.Landmark("cheilion_right"));
    }

    private HeadSample FinishInHeadFrame(int number)
    {
        Vector3 left = _draft.Landmarks[EyeLeft], right = _draft.Landmarks[EyeRight];
        return Finish(number, (left + right) / 2, 1 / Vector3.Distance(left, right));
    }

    // From the draft's coordinates to a head frame of the given origin and scale.
    private HeadSample Finish(int number, Vector3 origin, float scale)
    {
        WorkMesh mesh = _draft.Mesh;
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
            Replaced = [.. _draft.Landmarks.Zip(_draft.Carried, (p, carried) => (p - carried) * scale)],
            Shape = [.. _draft.Shape.Select(p => (p - origin) * scale)],
            States = [.. _draft.States],
            Tolerance = VisibilityTolerance.Of(_draft, scale),
        };
    }

    /// <summary>T unit normals.</summary>
    internal static Vector3[] TriangleNormals(TriangleMesh mesh)
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
