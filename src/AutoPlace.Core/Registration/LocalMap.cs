using AutoPlace.Geometry;

namespace AutoPlace.Registration;

/// <summary>How points about a place carry it: a similarity, and an affine map of what that leaves.</summary>
internal static class LocalMap
{
    /// <summary>Ridge of the affine map over the scatter's trace: what lies nearly in a plane says little across it.</summary>
    private const double Ridge = 0.01;

    /// <summary>Weights of points: those near a place have most of the say.</summary>
    /// <param name="points">Points.</param>
    /// <param name="place">The place.</param>
    /// <param name="nearness">Distance at which a point's say has dropped to 0.61.</param>
    /// <param name="rest">What every point has besides.</param>
    public static double[] Weights(Vector3d[] points, Vector3d place, double nearness, double rest) =>
        Array.ConvertAll(points, p => rest + Math.Exp(-(p - place).LengthSquared / (2 * nearness * nearness)));

    /// <summary>Carries a place.</summary>
    /// <param name="from">N points of the template.</param>
    /// <param name="to">N points of the head.</param>
    /// <param name="weights">N weights, not all zero.</param>
    /// <param name="place">The place, where the template has it.</param>
    /// <returns>The similarity, and where the place is on the head.</returns>
    public static (SimilarityTransform Similarity, Vector3d Place) Carry(Vector3d[] from, Vector3d[] to, double[] weights, Vector3d place)
    {
        SimilarityTransform near = ProcrustesAlignment.Align(from, to, weights);
        return (near, near.Apply(place) + Bent(from, to, weights, place, near));
    }

    // A jaw that got longer and not wider.
    private static Vector3d Bent(Vector3d[] from, Vector3d[] to, double[] weights, Vector3d place, SimilarityTransform similarity)
    {
        (double total, Vector3d centre, Vector3d rest) = (0, Vector3d.Zero, Vector3d.Zero);
        for (int i = 0; i < weights.Length; i++)
        {
            total += weights[i];
            centre += from[i] * weights[i];
            rest += (to[i] - similarity.Apply(from[i])) * weights[i];
        }

        (centre, rest) = (centre / total, rest / total);
        (Matrix3d scatter, Matrix3d bend) = (default, default);
        for (int i = 0; i < weights.Length; i++)
        {
            Vector3d off = from[i] - centre, weighted = off * weights[i];
            scatter += Matrix3d.Outer(weighted, off);
            bend += Matrix3d.Outer(to[i] - similarity.Apply(from[i]) - rest, weighted);
        }

        double ridge = Ridge * scatter.Trace;
        return rest + (bend * ((scatter + Matrix3d.Diagonal(ridge, ridge, ridge)).Inverse() * (place - centre)));
    }
}
