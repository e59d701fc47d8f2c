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

    /// <summary>Probability that a cell shows a class.</summary>
    public float ClassProbability(int cell, SurfaceClass surface) => _classes[((int)surface * Size * Size) + cell];

    /// <summary>The map of the mirrored image, seen in the image itself: columns reversed, atlas mirrored.</summary>
    public DenseMap Mirrored()
    {
        var atlas = new Vector3[_atlas.Length];
        float[] sigma = new float[_sigma.Length];
        float[] classes = new float[_classes.Length];
        for (int cell = 0; cell < atlas.Length; cell++)
        {
            int from = (cell - (cell % Size)) + (Size - 1 - (cell % Size));
            Vector3 p = _atlas[from];
            atlas[cell] = new Vector3(-p.X, p.Y, p.Z);
            sigma[cell] = _sigma[from];
            for (int c = 0; c < ClassCount; c++)
            {
                classes[(c * atlas.Length) + cell] = _classes[(c * atlas.Length) + from];
            }
        }

        return new DenseMap(Size, atlas, sigma, classes);
    }

    /// <summary>Mean of two maps of the same view: atlas points weighted by their inverse variances, class probabilities plainly.</summary>
    /// <exception cref="ArgumentException">The maps differ in size.</exception>
    public static DenseMap Average(DenseMap a, DenseMap b)
    {
        ArgumentNullException.ThrowIfNull(a);
        ArgumentNullException.ThrowIfNull(b);
        if (a.Size != b.Size)
        {
            throw new ArgumentException($"Maps of {a.Size} and {b.Size} cells a side.", nameof(b));
        }

        var atlas = new Vector3[a._atlas.Length];
        float[] sigma = new float[a._sigma.Length];
        float[] classes = new float[a._classes.Length];
        for (int i = 0; i < atlas.Length; i++)
        {
            float wa = 1 / (a._sigma[i] * a._sigma[i]), wb = 1 / (b._sigma[i] * b._sigma[i]);
            atlas[i] = ((a._atlas[i] * wa) + (b._atlas[i] * wb)) / (wa + wb);

            // The two err alike, so the mean counts as no surer than either of them on average.
            sigma[i] = MathF.Sqrt(2 / (wa + wb));
        }

        for (int i = 0; i < classes.Length; i++)
        {
            classes[i] = 0.5f * (a._classes[i] + b._classes[i]);
        }

        return new DenseMap(a.Size, atlas, sigma, classes);
    }
}
