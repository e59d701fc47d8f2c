using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;

namespace AutoPlace.Verification;

/// <summary>What was seen around a point of a head; head frame, interocular distances. May be used by several threads.</summary>
public sealed class HeadSurroundings
{
    /// <summary>Distance at which a correspondence's say about a point has dropped to 0.61, interocular distances.</summary>
    private const double Nearness = 0.12;

    /// <summary>The smallest length whose logarithm is taken, interocular distances.</summary>
    private const double LeastLength = 1e-4;

    private readonly Correspondence[] _correspondences;
    private readonly SimilarityTransform _atlasToHead;
    private readonly SimilarityTransform _headToAtlas;
    private readonly Lazy<LocalEdgeLength> _edges;

    /// <summary>Gathers what is known.</summary>
    /// <param name="evidence">Everything that registration goes by.</param>
    public HeadSurroundings(HeadEvidence evidence)
    {
        ArgumentNullException.ThrowIfNull(evidence);
        _correspondences = [.. evidence.Correspondences];
        _atlasToHead = evidence.AtlasToHead;
        _headToAtlas = evidence.AtlasToHead.Inverse();
        _edges = new Lazy<LocalEdgeLength>(() => new LocalEdgeLength(evidence.Skin.Mesh));
    }

    /// <summary>How fine the skin's mesh is; measured when first needed.</summary>
    internal LocalEdgeLength Edges => _edges.Value;

    /// <summary>Natural logarithm of a length, which may be 0.</summary>
    internal static double LogLength(double length) => Math.Log(Math.Max(length, LeastLength));

    /// <summary>Where the similarity has a point in the atlas.</summary>
    internal Vector3d ToAtlas(Vector3d position) => _headToAtlas.Apply(position);

    /// <summary>The correspondences around a point.</summary>
    internal SeenAround Around(Vector3d position)
    {
        const double Reach = 3 * Nearness;
        double count = 0, residual = 0, sigma = 0;
        Vector3d atlas = Vector3d.Zero, head = Vector3d.Zero;
        foreach (ref readonly Correspondence c in _correspondences.AsSpan())
        {
            double distance = (c.Head - position).LengthSquared;
            if (distance < Reach * Reach)
            {
                double weight = Math.Exp(-distance / (2 * Nearness * Nearness));
                count += weight;
                residual += weight * (_atlasToHead.Apply(c.Atlas) - c.Head).Length;
                sigma += weight * c.Sigma;
                atlas += c.Atlas * weight;
                head += c.Head * weight;
            }
        }

        if (count < 1)
        {
            return new(0.5, 0.5, 0, _headToAtlas.Apply(position));
        }

        Vector3d beside = position - (head / count);
        Vector3d there = (atlas / count) + (_headToAtlas.ApplyToDirection(beside) * _headToAtlas.Scale);
        return new(residual / count, sigma / count, count, there);
    }
}

/// <summary>What the correspondences around a point say, nearer ones more.</summary>
/// <param name="Residual">Mean distance from where the similarity has them, interocular distances.</param>
/// <param name="Sigma">Their mean standard deviation, interocular distances.</param>
/// <param name="Count">How many there are, by weight.</param>
/// <param name="Atlas">Where they have the point in the atlas.</param>
internal readonly record struct SeenAround(double Residual, double Sigma, double Count, Vector3d Atlas);
