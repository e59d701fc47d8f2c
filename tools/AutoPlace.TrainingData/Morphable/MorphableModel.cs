using System.Numerics;
using System.Runtime.InteropServices;
using System.Text.Json;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.TrainingData.Morphable;

/// <summary>
/// A linear model of heads: mean, identity modes and expression shapes over one topology; centimetres, +X the
/// subject's left, +Y up, +Z anterior. The atlas is its mean in the mean's own head frame.
/// </summary>
internal sealed class MorphableModel
{
    private readonly float[] _mean;
    private readonly short[] _identityModes;
    private readonly float[] _identityScale;
    private readonly short[] _expressionShapes;
    private readonly float[] _expressionScale;

    /// <summary>Takes over all arrays.</summary>
    /// <param name="layout">Vertex ranges and contours.</param>
    /// <param name="topology">Faces and materials; its positions are not used.</param>
    /// <param name="mean">3V coordinates of the mean.</param>
    /// <param name="identity">Modes (K x 3V) and scale (K): mode k in centimetres = value times scale.</param>
    /// <param name="expressions">Shapes (E x 3V), scale (E) and names (E), same coding.</param>
    /// <param name="landmarks">Named landmarks of the mean, at least both eye centres.</param>
    public MorphableModel(
        MorphableLayout layout,
        ObjTopology topology,
        float[] mean,
        (short[] Modes, float[] Scale) identity,
        (short[] Shapes, float[] Scale, string[] Names) expressions,
        IReadOnlyDictionary<string, Vector3> landmarks)
    {
        Layout = layout;
        _mean = mean;
        (_identityModes, _identityScale) = identity;
        (_expressionShapes, _expressionScale, string[] names) = expressions;
        ExpressionNames = names;
        Landmarks = landmarks;
        if (mean.Length != 3 * topology.Polygons.VertexCount
            || _identityModes.Length != _identityScale.Length * mean.Length
            || _expressionShapes.Length != _expressionScale.Length * mean.Length
            || names.Length != _expressionScale.Length)
        {
            throw new ArgumentException($"Arrays of different sizes: {topology.Polygons.VertexCount} vertices, {mean.Length} mean "
                + $"coordinates, {_identityModes.Length} of {_identityScale.Length} modes, {_expressionShapes.Length} of {_expressionScale.Length} shapes.");
        }

        Vector3 left = landmarks["eye_centre_left"], right = landmarks["eye_centre_right"];
        AtlasOrigin = (left + right) / 2;
        AtlasScale = Vector3.Distance(left, right);
        MeanPositions = MemoryMarshal.Cast<float, Vector3>(mean).ToArray();
        Atlas = [.. MeanPositions.Select(p => (p - AtlasOrigin) / AtlasScale)];
        TriangleMesh triangles = topology.Polygons.WithPositions(MeanPositions).Triangulate(out int[] faces);
        Triangles = triangles.Indices.ToArray();
        TriangleMaterials = [.. faces.Select(f => (byte)topology.FaceMaterials[f])];
        MaterialNames = topology.MaterialNames;
        Parts = [.. Enumerable.Range(0, VertexCount).Select(layout.PartOf)];
    }

    /// <summary>Vertex ranges and contours.</summary>
    public MorphableLayout Layout { get; }

    /// <summary>Number of vertices V.</summary>
    public int VertexCount => _mean.Length / 3;

    /// <summary>Number of identity modes.</summary>
    public int IdentityCount => _identityScale.Length;

    /// <summary>Names of the expression shapes.</summary>
    public IReadOnlyList<string> ExpressionNames { get; }

    /// <summary>Named landmarks of the mean, centimetres.</summary>
    public IReadOnlyDictionary<string, Vector3> Landmarks { get; }

    /// <summary>V positions of the mean, centimetres.</summary>
    public Vector3[] MeanPositions { get; }

    /// <summary>V positions of the mean in the atlas.</summary>
    public Vector3[] Atlas { get; }

    /// <summary>Origin of the atlas in centimetres of the mean.</summary>
    public Vector3 AtlasOrigin { get; }

    /// <summary>Interocular distance of the mean in centimetres.</summary>
    public float AtlasScale { get; }

    /// <summary>3T vertex indices.</summary>
    public int[] Triangles { get; }

    /// <summary>T indices into <see cref="MaterialNames"/>.</summary>
    public byte[] TriangleMaterials { get; }

    /// <summary>Names of the published materials.</summary>
    public IReadOnlyList<string> MaterialNames { get; }

    /// <summary>V parts.</summary>
    public Part[] Parts { get; }

    /// <summary>Reads a folder of arrays: topology.obj, mean_vertices.npy, identity_*, expression_*, mean_landmarks.json.</summary>
    /// <exception cref="MeshFormatException">A file that can't be read or doesn't fit the others.</exception>
    public static MorphableModel Load(string folder, MorphableLayout layout)
    {
        string InFolder(string name) => Path.Combine(folder, name);
        ObjTopology topology = ObjTopology.Read(InFolder("topology.obj"));
        float[] mean = NpyFile.Read<float>(InFolder("mean_vertices.npy"), out _);
        short[] modes = NpyFile.Read<short>(InFolder("identity_modes_int16.npy"), out _);
        float[] modeScale = NpyFile.Read<float>(InFolder("identity_scale.npy"), out _);
        short[] shapes = NpyFile.Read<short>(InFolder("expression_shapes_int16.npy"), out _);
        float[] shapeScale = NpyFile.Read<float>(InFolder("expression_scale.npy"), out _);
        try
        {
            using JsonDocument names = JsonDocument.Parse(File.ReadAllText(InFolder("expression_names.json")));
            using JsonDocument points = JsonDocument.Parse(File.ReadAllText(InFolder("mean_landmarks.json")));
            var landmarks = points.RootElement.EnumerateObject().ToDictionary(
                p => p.Name,
                p => new Vector3(p.Value[0].GetSingle(), p.Value[1].GetSingle(), p.Value[2].GetSingle()));
            string[] expressionNames = [.. names.RootElement.EnumerateArray().Select(n => n.GetString() ?? "")];
            return new MorphableModel(
                layout, topology, mean, (modes, modeScale), (shapes, shapeScale, expressionNames), landmarks);
        }
        catch (Exception exception) when (exception is ArgumentException or JsonException or KeyNotFoundException)
        {
            throw new MeshFormatException(folder, null, exception.Message, exception);
        }
    }

    /// <summary>Mean plus weighted modes and shapes.</summary>
    /// <param name="identity">Weights of the first modes.</param>
    /// <param name="expression">Weights of all shapes.</param>
    /// <param name="positions">Receives V positions, centimetres.</param>
    public void Synthesize(ReadOnlySpan<float> identity, ReadOnlySpan<float> expression, Span<Vector3> positions)
    {
        Span<float> target = MemoryMarshal.Cast<Vector3, float>(positions);
        _mean.CopyTo(target);
        AddWeighted(_identityModes, _identityScale, identity, target);
        AddWeighted(_expressionShapes, _expressionScale, expression, target);
    }

    // Block by block, so that the running sum stays in the first-level cache while modes stream past.
    private static void AddWeighted(short[] modes, float[] scale, ReadOnlySpan<float> weights, Span<float> target)
    {
        const int Block = 4096;
        int length = target.Length, lanes = Vector<short>.Count;
        for (int start = 0; start < length; start += Block)
        {
            int end = Math.Min(length, start + Block);
            for (int k = 0; k < weights.Length; k++)
            {
                float weight = weights[k] * scale[k];
                if (weight == 0)
                {
                    continue;
                }

                ReadOnlySpan<short> mode = modes.AsSpan(k * length, length);
                int i = start;
                for (; i + lanes <= end; i += lanes)
                {
                    Vector.Widen(new Vector<short>(mode[i..]), out Vector<int> low, out Vector<int> high);
                    Span<float> a = target.Slice(i, lanes / 2), b = target.Slice(i + (lanes / 2), lanes / 2);
                    (new Vector<float>(a) + (Vector.ConvertToSingle(low) * weight)).CopyTo(a);
                    (new Vector<float>(b) + (Vector.ConvertToSingle(high) * weight)).CopyTo(b);
                }

                for (; i < end; i++)
                {
                    target[i] += mode[i] * weight;
                }
            }
        }
    }
}
