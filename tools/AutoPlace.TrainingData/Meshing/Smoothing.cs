using System.Numerics;
using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.TrainingData.Meshing;

/// <summary>Laplacian smoothing of the head's skin with a weight for each vertex.</summary>
internal sealed class Smoothing
{
    private readonly HeadRegions _regions;
    private readonly float[] _weights;
    private readonly List<int> _active = [];
    private readonly Vector3[] _next;

    /// <summary>Prepares buffers.</summary>
    public Smoothing(MorphableModel model, HeadRegions regions)
    {
        _regions = regions;
        _weights = new float[model.VertexCount];
        _next = new Vector3[model.VertexCount];
    }

    /// <summary>Smooths in place.</summary>
    /// <param name="draft">The head; its skin vertices move.</param>
    /// <param name="iterations">Number of rounds.</param>
    /// <param name="weightOf">Weight of a vertex by its index, 0 to 1.</param>
    /// <param name="seam">Opposite vertices of a slit that is to grow shut, or null.</param>
    public void Apply(HeadDraft draft, int iterations, Func<int, float> weightOf, int[]? seam = null)
    {
        MorphableModel model = draft.Model;
        Vector3[] shape = draft.Shape;
        _active.Clear();
        int end = model.Layout.Range(Part.Scalp, model.VertexCount).End;
        for (int v = 0; v < end; v++)
        {
            float weight = weightOf(v);
            if (weight > 0)
            {
                _weights[v] = MathF.Min(1, weight);
                _active.Add(v);
            }
        }

        for (int round = 0; round < iterations; round++)
        {
            foreach (int v in _active)
            {
                Vector3 mean = NeighbourMean(shape, v);
                if (seam is not null && seam[v] >= 0)
                {
                    mean = (mean + (2 * shape[seam[v]])) / 3;
                }

                _next[v] = Vector3.Lerp(shape[v], mean, 0.7f * _weights[v]);
            }

            foreach (int v in _active)
            {
                shape[v] = _next[v];
            }
        }
    }

    private Vector3 NeighbourMean(Vector3[] shape, int vertex)
    {
        ReadOnlySpan<int> neighbours = _regions.SkinNeighbours(vertex);
        Vector3 sum = Vector3.Zero;
        foreach (int n in neighbours)
        {
            sum += shape[n];
        }

        return neighbours.Length > 0 ? sum / neighbours.Length : shape[vertex];
    }
}
