using System.Numerics;

namespace AutoPlace.Landmarks;

/// <summary>
/// For each cell of a view the atlas point that it shows, how sure that is, and what kind of surface it is. Cell
/// (column i, row j) has its centre at continuous input pixel ((i + 0.5) s, (j + 0.5) s) with s = input size / Size.
/// </summary>
public sealed class DenseMap
{
    /// <summary>Number of surface classes.</summary>
    public const int ClassCount = 6;

    private readonly Vector3[] _atlas;
    private readonly float[] _sigma;
    private readonly float[] _classes;

    /// <summary>Takes over the arrays.</summary>
    /// <param name="size">Cells a side, S.</param>
    /// <param name="atlas">S² atlas points, row by row from the top, interocular distances.</param>
    /// <param name="sigma">S² standard deviations of one coordinate, interocular distances.</param>
    /// <param name="classes">6 S² class probabilities, class by class.</param>
    /// <exception cref="ArgumentException">An array of another length.</exception>
    public DenseMap(int size, Vector3[] atlas, float[] sigma, float[] classes)
    {
        ArgumentNullException.ThrowIfNull(atlas);
        ArgumentNullException.ThrowIfNull(sigma);
        ArgumentNullException.ThrowIfNull(classes);
        int cells = size * size;
        if (atlas.Length != cells || sigma.Length != cells || classes.Length != ClassCount * cells)
        {
            throw new ArgumentException($"A map of {size} x {size} cells needs arrays of {cells}, {cells} and {ClassCount * cells} elements.");
        }

        Size = size;
        _atlas = atlas;
        _sigma = sigma;
        _classes = classes;
    }

    /// <summary>Cells a side.</summary>
    public int Size { get; }

    /// <summary>Atlas point of each cell.</summary>
    public ReadOnlySpan<Vector3> Atlas => _atlas;

    /// <summary>Standard deviation of each coordinate of the atlas point.</summary>
    public ReadOnlySpan<float> Sigma => _sigma;

    /// <summary>The map of the mirrored view of the mirrored head.</summary>
    public DenseMap Mirrored()
    {
        var atlas = new Vector3[_atlas.Length];
        float[] sigma = new float[_sigma.Length], classes = new float[_classes.Length];
        for (int cell = 0; cell < atlas.Length; cell++)
        {
            int other = cell - (cell % Size) + Size - 1 - (cell % Size);
            atlas[cell] = _atlas[other] with { X = -_atlas[other].X };
            sigma[cell] = _sigma[other];
            for (int layer = 0; layer < classes.Length; layer += atlas.Length)
            {
                classes[layer + cell] = _classes[layer + other];
            }
        }

        return new DenseMap(Size, atlas, sigma, classes);
    }

    /// <summary>Probability that a cell shows a class.</summary>
    public float ClassProbability(int cell, SurfaceClass surface) => _classes[((int)surface * Size * Size) + cell];
}
