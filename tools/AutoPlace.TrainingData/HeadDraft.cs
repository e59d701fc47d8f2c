using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData;

/// <summary>
/// A head under construction: first the deformed vertices of the model, then the mesh assembled from them. Units are
/// centimetres of the model. Reused from head to head; one for each thread.
/// </summary>
internal sealed class HeadDraft
{
    private readonly LandmarkExtremes _extremes;

    /// <summary>Makes a draft of a model's size.</summary>
    public HeadDraft(MorphableModel model, LandmarkCarrier carrier)
    {
        Model = model;
        Carrier = carrier;
        _extremes = new LandmarkExtremes(model, carrier);
        Shape = new Vector3[model.VertexCount];
        Landmarks = new Vector3[carrier.Count];
        Carried = new Vector3[carrier.Count];
        States = new LandmarkState[carrier.Count];
        Expression = new float[model.ExpressionNames.Count];
        Dropped = new bool[Enum.GetValues<Part>().Length];
        Haired = new bool[model.VertexCount];
        Random = new SeededRandom(0, 0, 0);
    }

    /// <summary>The model.</summary>
    public MorphableModel Model { get; }

    /// <summary>Ties of landmarks to the model's vertices.</summary>
    public LandmarkCarrier Carrier { get; }

    /// <summary>Deformed vertices of the model.</summary>
    public Vector3[] Shape { get; }

    /// <summary>Weights of the expression shapes.</summary>
    public float[] Expression { get; }

    /// <summary>Landmarks of the deformed vertices, or of what replaced them.</summary>
    public Vector3[] Landmarks { get; }

    /// <summary>Landmarks of the deformed vertices, as last read.</summary>
    public Vector3[] Carried { get; }

    /// <summary>How each landmark exists.</summary>
    public LandmarkState[] States { get; }

    /// <summary>How far the front of the left and right eye lies before its centre, centimetres; 0 for the model's own eyes.</summary>
    public float[] EyeFront { get; } = new float[2];

    /// <summary>Parts of the model that the head doesn't have.</summary>
    public bool[] Dropped { get; }

    /// <summary>Skin vertices that were lifted and stand for hair.</summary>
    public bool[] Haired { get; }

    /// <summary>The mesh assembled so far.</summary>
    public WorkMesh Mesh { get; } = new();

    /// <summary>The head's stream of random numbers.</summary>
    public SeededRandom Random { get; private set; }

    /// <summary>Kind of the head.</summary>
    public HeadKind Kind { get; private set; }

    /// <summary>Several materials, whose borders show.</summary>
    public bool HasMaterials { get; set; }

    /// <summary>Vertices of separate features (eyes, nose, brows), which decimation leaves alone.</summary>
    public Range FeatureVertices { get; set; }

    /// <summary>Shaded flat.</summary>
    public bool Flat { get; set; }

    /// <summary>Added to how far behind the surface a visible landmark may lie, centimetres.</summary>
    public float Coarseness { get; set; }

    /// <summary>Begins a new head.</summary>
    public void Begin(SeededRandom random, HeadKind kind)
    {
        Random = random;
        Kind = kind;
        HasMaterials = false;
        Flat = false;
        FeatureVertices = default;
        Coarseness = 0;
        Array.Fill(States, LandmarkState.Modelled);
        Array.Clear(Dropped);
        Array.Clear(EyeFront);
        Array.Clear(Haired);
        Array.Clear(Expression);
        Mesh.Clear();
    }

    /// <summary>Reads all landmarks off the deformed vertices; those that are extremes of the surface are found anew.</summary>
    public void CarryLandmarks()
    {
        Carrier.Carry(Shape, Landmarks);
        _extremes.Refine(Shape, Landmarks);
        Landmarks.CopyTo(Carried, 0);
    }

    /// <summary>A landmark by name.</summary>
    public Vector3 Landmark(string name) => Landmarks[LandmarkNames.IndexOf(name)];

    /// <summary>Sets the state of landmarks whose name begins so.</summary>
    public void SetStates(string prefix, LandmarkState state)
    {
        for (int i = 0; i < States.Length; i++)
        {
            if (LandmarkNames.All[i].StartsWith(prefix, StringComparison.Ordinal))
            {
                States[i] = state;
            }
        }
    }
}
