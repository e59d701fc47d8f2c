using System.Numerics;
using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.TrainingData.Meshing;

/// <summary>
/// Regions of the model, found once on its mean, and its adjacency. Distances are centimetres on the mean.
/// </summary>
internal sealed class HeadRegions
{
    private readonly int[] _starts;
    private readonly int[] _neighbours;
    private readonly int[] _skinStarts;
    private readonly int[] _skinNeighbours;

    /// <summary>Finds all regions.</summary>
    public HeadRegions(MorphableModel model)
    {
        (_starts, _neighbours) = VertexNeighbours(model.VertexCount, model.Triangles);
        (_skinStarts, _skinNeighbours) = SkinOnly(model);
        Vector3[] mean = model.MeanPositions;
        int[] contour = model.Layout.Contour68;
        Vector3[] Line(params int[] points) => [.. points.Select(i => mean[contour[i]])];
        Vector3[] browRight = Line(17, 18, 19, 20, 21), browLeft = Line(22, 23, 24, 25, 26), mouth = Line(60, 61, 62, 63, 64);
        Vector3[] lips = Line(48, 49, 50, 51, 52, 53, 54, 55, 56, 57, 58, 59);
        var earCentre = new Vector3(0, 1.5f, -1.2f) + model.Landmarks["tragion_left"];
        BrowDistance = new float[model.VertexCount];
        MouthDistance = new float[model.VertexCount];
        EarWeight = new float[model.VertexCount];
        InLips = new bool[model.VertexCount];
        for (int v = 0; v < model.VertexCount; v++)
        {
            Vector3 p = mean[v];
            BrowDistance[v] = PolylineDistance(p, p.X < 0 ? browRight : browLeft);
            MouthDistance[v] = PolylineDistance(p, mouth);
            InLips[v] = model.Parts[v] == Part.Face && p.Z > model.AtlasOrigin.Z && Contains(lips, p);
            float beside = Math.Clamp((MathF.Abs(p.X) - earCentre.X + 0.2f) / 0.6f, 0, 1);
            EarWeight[v] = model.Parts[v] <= Part.Scalp && Vector3.Distance(p with { X = earCentre.X }, earCentre) < 4.8f ? beside : 0;
        }

        MouthSeam = Seam(model, Part.MouthSocket, Part.MouthSocket);
        EyeSeam = Seam(model, Part.EyeSocketLeft, Part.EyeSocketRight);
    }

    /// <summary>Distance to the brow line of the same side.</summary>
    public float[] BrowDistance { get; }

    /// <summary>Distance to the line of lip contact.</summary>
    public float[] MouthDistance { get; }

    /// <summary>1 on the ears, 0 off them.</summary>
    public float[] EarWeight { get; }

    /// <summary>Within the vermilion border.</summary>
    public bool[] InLips { get; }

    /// <summary>For each vertex of the lips' inner rim the one opposite, else -1.</summary>
    public int[] MouthSeam { get; }

    /// <summary>For each vertex of the lids' rims the one opposite, else -1.</summary>
    public int[] EyeSeam { get; }

    /// <summary>Vertices joined to a vertex by an edge.</summary>
    public ReadOnlySpan<int> Neighbours(int vertex) => _neighbours.AsSpan(_starts[vertex].._starts[vertex + 1]);

    /// <summary>Skin vertices joined to a vertex by an edge, each once.</summary>
    public ReadOnlySpan<int> SkinNeighbours(int vertex) => _skinNeighbours.AsSpan(_skinStarts[vertex].._skinStarts[vertex + 1]);

    /// <summary>Edges as lists of neighbours: starts (V + 1) and neighbours; an inner edge appears twice at each end.</summary>
    public static (int[] Starts, int[] Neighbours) VertexNeighbours(int vertexCount, ReadOnlySpan<int> triangles)
    {
        int[] starts = new int[vertexCount + 1];
        foreach (int v in triangles)
        {
            starts[v + 1] += 2;
        }

        for (int v = 0; v < vertexCount; v++)
        {
            starts[v + 1] += starts[v];
        }

        int[] next = starts[..^1], neighbours = new int[starts[^1]];
        for (int i = 0; i < triangles.Length; i += 3)
        {
            for (int c = 0; c < 3; c++)
            {
                int v = triangles[i + c];
                neighbours[next[v]++] = triangles[i + ((c + 1) % 3)];
                neighbours[next[v]++] = triangles[i + ((c + 2) % 3)];
            }
        }

        return (starts, neighbours);
    }

    private (int[] Starts, int[] Neighbours) SkinOnly(MorphableModel model)
    {
        int[] starts = new int[model.VertexCount + 1];
        var neighbours = new List<int>();
        for (int v = 0; v < model.VertexCount; v++)
        {
            foreach (int n in Neighbours(v))
            {
                if (model.Parts[n] <= Part.Scalp && neighbours.IndexOf(n, starts[v]) < 0)
                {
                    neighbours.Add(n);
                }
            }

            starts[v + 1] = neighbours.Count;
        }

        return (starts, [.. neighbours]);
    }

    // Rim vertices are skin that touches the bag behind. Opposite is the nearest rim vertex that isn't close along the rim.
    private int[] Seam(MorphableModel model, Part first, Part last)
    {
        bool IsBag(int v) => model.Parts[v] >= first && model.Parts[v] <= last;
        var rim = new List<int>();
        for (int v = 0; v < model.VertexCount; v++)
        {
            if (model.Parts[v] == Part.Face && AnyNeighbour(v, IsBag))
            {
                rim.Add(v);
            }
        }

        int[] seam = new int[model.VertexCount];
        Array.Fill(seam, -1);
        foreach (int v in rim)
        {
            float best = float.PositiveInfinity;
            foreach (int other in rim)
            {
                // Height differs less than width along a closed slit, so width decides.
                Vector3 d = model.MeanPositions[v] - model.MeanPositions[other];
                float distance = (d * new Vector3(2, 0.5f, 0.5f)).LengthSquared();
                if (other != v && distance < best && !AnyNeighbour(v, n => n == other || AnyNeighbour(n, m => m == other)))
                {
                    best = distance;
                    seam[v] = other;
                }
            }
        }

        return seam;
    }

    private bool AnyNeighbour(int vertex, Func<int, bool> test)
    {
        foreach (int n in Neighbours(vertex))
        {
            if (test(n))
            {
                return true;
            }
        }

        return false;
    }

    private static float PolylineDistance(Vector3 p, ReadOnlySpan<Vector3> line)
    {
        float best = float.PositiveInfinity;
        for (int i = 0; i + 1 < line.Length; i++)
        {
            Vector3 d = line[i + 1] - line[i];
            float t = Math.Clamp(Vector3.Dot(p - line[i], d) / d.LengthSquared(), 0, 1);
            best = MathF.Min(best, Vector3.Distance(p, line[i] + (t * d)));
        }

        return best;
    }

    // Even-odd rule in the frontal projection.
    private static bool Contains(ReadOnlySpan<Vector3> polygon, Vector3 p)
    {
        bool inside = false;
        for (int i = 0, j = polygon.Length - 1; i < polygon.Length; j = i++)
        {
            (Vector3 a, Vector3 b) = (polygon[i], polygon[j]);
            if ((a.Y > p.Y) != (b.Y > p.Y) && p.X < ((b.X - a.X) * (p.Y - a.Y) / (b.Y - a.Y)) + a.X)
            {
                inside = !inside;
            }
        }

        return inside;
    }
}
