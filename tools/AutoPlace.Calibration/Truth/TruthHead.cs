using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.Calibration.Truth;

/// <summary>How the mesh of a true head differs from the model's.</summary>
internal enum Remeshing
{
    /// <summary>Not at all: the model's own vertices in their order.</summary>
    None,

    /// <summary>Every triangle is split in four, and all are shuffled.</summary>
    Split,

    /// <summary>Contracted to cells of about 3 mm.</summary>
    Fine,

    /// <summary>Contracted to cells of about 6 mm.</summary>
    Coarse,
}

/// <summary>What the face of a true head does.</summary>
internal enum TruthExpression
{
    /// <summary>Nothing.</summary>
    Neutral,

    /// <summary>What is drawn as for training data.</summary>
    Drawn,

    /// <summary>The mouth stands open.</summary>
    OpenMouth,
}

/// <summary>A head of the morphable model in a file, with the vertices that it was made of.</summary>
/// <param name="Shape">V vertices of the model, centimetres.</param>
/// <param name="Pose">How it lies in the file.</param>
/// <param name="Scan">The file.</param>
internal sealed record TruthHead(Vector3[] Shape, FilePose Pose, HeadScan Scan)
{
    private const float FineCellCm = 0.3f, CoarseCellCm = 0.6f;

    /// <summary>Weight of the open jaw in <see cref="TruthExpression.OpenMouth"/>.</summary>
    private const float OpenJaw = 0.5f;

    /// <summary>Name of the part that is the teeth.</summary>
    public const string Teeth = "teeth";

    private static readonly string[] PartNames = ["skin", "mouth", Teeth, "eye_left", "eye_right"];

    /// <summary>Makes a head.</summary>
    /// <param name="model">The model.</param>
    /// <param name="random">The head's stream.</param>
    /// <param name="doing">What the face does.</param>
    /// <param name="isMean">The mean in place of a drawn identity.</param>
    /// <param name="remeshing">What becomes of the mesh.</param>
    public static TruthHead Make(MorphableModel model, SeededRandom random, TruthExpression doing, bool isMean, Remeshing remeshing)
    {
        float[] identity = new float[model.IdentityCount], expression = new float[model.ExpressionNames.Count];
        if (!isMean)
        {
            HeadShapeSampler.Sample(random, HeadKind.Realistic, identity);
        }

        while (doing == TruthExpression.Drawn && expression.All(e => e == 0))
        {
            ExpressionSampler.Sample(model, random, expression);
        }

        if (doing == TruthExpression.OpenMouth)
        {
            ExpressionSampler.Set(model, expression, "jawOpen", OpenJaw);
        }

        var shape = new Vector3[model.VertexCount];
        model.Synthesize(identity, expression, shape);
        var pose = FilePose.Draw(random, model.AtlasScale);
        return new TruthHead(shape, pose, ToScan(Mesh(model, shape, remeshing, random), pose, random, shuffled: remeshing != Remeshing.None));
    }

    // Skin, mouth, teeth, eyes; not the shells over the eyes and the lashes. The part stands in the material.
    private static WorkMesh Mesh(MorphableModel model, Vector3[] shape, Remeshing remeshing, SeededRandom random)
    {
        var mesh = new WorkMesh();
        foreach (Vector3 p in shape)
        {
            mesh.AddVertex(p);
        }

        for (int t = 0; t < model.Triangles.Length; t += 3)
        {
            (int a, int b, int c) = (model.Triangles[t], model.Triangles[t + 1], model.Triangles[t + 2]);
            if (model.Parts[a] is { } part && part < Part.EyeShells)
            {
                mesh.AddTriangle(a, b, c, SurfaceClass.HeadSkin, (Material)PartOf(part));
            }
        }

        if (remeshing == Remeshing.Split)
        {
            return Split(mesh);
        }

        if (remeshing != Remeshing.None)
        {
            float cell = (remeshing == Remeshing.Fine ? FineCellCm : CoarseCellCm) * random.LogUniform(0.8f, 1.25f);
            new Decimation().Apply(mesh, cell, cell / 2, p => p.Z > model.AtlasOrigin.Z, [], random);
        }

        return mesh;
    }

    private static int PartOf(Part part) => part switch
    {
        Part.GumsTongue => 1,
        Part.UpperTeeth or Part.LowerTeeth => 2,
        Part.EyeballLeft => 3,
        Part.EyeballRight => 4,
        _ => 0,
    };

    private static WorkMesh Split(WorkMesh mesh)
    {
        var fine = new WorkMesh();
        foreach (Vector3 p in mesh.Positions)
        {
            fine.AddVertex(p);
        }

        var middles = new Dictionary<(int, int), int>();
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            (int a, int b, int c) = (mesh.Indices[3 * t], mesh.Indices[(3 * t) + 1], mesh.Indices[(3 * t) + 2]);
            (int ab, int bc, int ca) = (Middle(a, b), Middle(b, c), Middle(c, a));
            foreach ((int i, int j, int k) in (ReadOnlySpan<(int, int, int)>)[(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)])
            {
                fine.AddTriangle(i, j, k, mesh.Classes[t], mesh.Materials[t]);
            }
        }

        return fine;

        int Middle(int a, int b)
        {
            (int, int) edge = (Math.Min(a, b), Math.Max(a, b));
            if (!middles.TryGetValue(edge, out int middle))
            {
                middles.Add(edge, middle = fine.AddVertex((fine.Positions[a] + fine.Positions[b]) / 2));
            }

            return middle;
        }
    }

    // Vertices without a triangle are left out of a mesh that isn't the model's own.
    private static HeadScan ToScan(WorkMesh mesh, FilePose pose, SeededRandom random, bool shuffled)
    {
        int[] order = [.. Enumerable.Range(0, mesh.TriangleCount)];
        int[] number = [.. Enumerable.Range(0, mesh.VertexCount)];
        var positions = new List<Vector3>();
        if (shuffled)
        {
            for (int i = order.Length - 1; i > 0; i--)
            {
                int j = random.Whole(0, i);
                (order[i], order[j]) = (order[j], order[i]);
            }

            Array.Fill(number, -1);
            foreach (int t in order)
            {
                foreach (int v in mesh.Indices.Slice(3 * t, 3))
                {
                    if (number[v] < 0)
                    {
                        number[v] = positions.Count;
                        positions.Add(pose.Apply(mesh.Positions[v]));
                    }
                }
            }
        }
        else
        {
            foreach (Vector3 p in mesh.Positions)
            {
                positions.Add(pose.Apply(p));
            }
        }

        var corners = new List<int>();
        var parts = new List<int>();
        foreach (int t in order)
        {
            foreach (int v in mesh.Indices.Slice(3 * t, 3))
            {
                corners.Add(number[v]);
            }

            parts.Add((int)mesh.Materials[t]);
        }

        return new HeadScan
        {
            Source = "truth head",
            Sha256 = string.Empty,
            Format = MeshFormat.Obj,
            MetresPerUnit = null,
            Mesh = new PolygonMesh([.. positions], [.. Enumerable.Range(0, order.Length + 1).Select(t => 3 * t)], [.. corners]),
            Parts = [.. PartNames.Select(name => new MeshPart(name, name))],
            FaceParts = parts,
        };
    }
}
