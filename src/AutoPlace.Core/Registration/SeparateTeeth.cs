using AutoPlace.Geometry;

namespace AutoPlace.Registration;

/// <summary>A row of teeth that was found tooth by tooth.</summary>
/// <param name="Similarity">From the row to the head.</param>
/// <param name="Trust">Mean trust in the pairs of teeth, in [0, 1].</param>
/// <param name="Teeth">The head's teeth that are the row's.</param>
internal sealed record FoundRow(SimilarityTransform Similarity, double Trust, IReadOnlyList<Tooth> Teeth);

/// <summary>
/// Lays rows of teeth that are modelled tooth by tooth, each a piece of its own. Where the teeth are is known even on a head
/// whose triangles are as large as a tooth, while surfaces have little in common there.
/// </summary>
internal static class SeparateTeeth
{
    /// <summary>Rows of fewer teeth, or of which fewer are found, are left to their surface.</summary>
    private const int LeastTeeth = 6;

    /// <summary>Mean trust in the pairs from which on a row is found: a row whose teeth lie unlike the head's settles anywhere with less.</summary>
    private const double LeastTrust = 0.45;

    /// <summary>Distance at which the trust in a pair of teeth has dropped to half, interocular distances: narrowed round by round from the first to the second.</summary>
    private const double FirstHalfTrust = 0.08, HalfTrust = 0.03, Narrowing = 0.8;

    private const int Rounds = 20;

    /// <summary>A row that begins less than a tooth's width away may settle one tooth further along; so it begins from places this far up, down, before and behind, too.</summary>
    private static readonly double[] Offsets = [0, -0.07, 0.07];

    /// <summary>Where a row is on a head: teeth are paired that are nearest to each other, and the row is laid on its partners, round by round.</summary>
    /// <param name="row">Middles of the row's teeth, along the axes of its own frame.</param>
    /// <param name="teeth">What may be teeth of the head.</param>
    /// <param name="starts">From the row to the head, nearly.</param>
    /// <param name="accept">Whether the row can come to lie there, from where it began.</param>
    /// <returns>As it fits best; null where too few teeth do.</returns>
    public static FoundRow? Find(
        IReadOnlyList<Vector3d> row, IReadOnlyList<Tooth> teeth, IEnumerable<SimilarityTransform> starts, Func<SimilarityTransform, SimilarityTransform, bool> accept)
    {
        if (row.Count < LeastTeeth || teeth.Count < LeastTeeth)
        {
            return null;
        }

        (SimilarityTransform? best, double most) = (null, 0);
        foreach (SimilarityTransform start in starts)
        {
            Vector3d[] middles = Middles(teeth, start);
            foreach (SimilarityTransform from in Offsets.SelectMany(_ => Offsets, (y, z) => start with { Translation = start.Translation + new Vector3d(0, y, z) }))
            {
                if (Settle(row, middles, from, FirstHalfTrust) is { } rest && rest.Trusted > most && accept(start, rest.Similarity))
                {
                    (best, most) = (rest.Similarity, rest.Trusted);
                }
            }
        }

        return best is not null && Settle(row, Middles(teeth, best), best, HalfTrust) is { } final && final.Trusted >= LeastTrust * final.Partners.Count
            ? new FoundRow(final.Similarity, final.Trusted / final.Partners.Count, [.. final.Partners.Select(p => teeth[p])])
            : null;
    }

    // Along the axes of the row where it lies nearly, so that a row that was turned has the same.
    private static Vector3d[] Middles(IReadOnlyList<Tooth> teeth, SimilarityTransform nearly) => [.. teeth.Select(tooth => tooth.Middle(nearly.Rotation))];

    private static (SimilarityTransform Similarity, double Trusted, IReadOnlyList<int> Partners)? Settle(
        IReadOnlyList<Vector3d> row, Vector3d[] teeth, SimilarityTransform pose, double halfTrust)
    {
        var (partners, own, other, weights) = (new List<int>(), new List<Vector3d>(), new List<Vector3d>(), new List<double>());
        var laid = new Vector3d[row.Count];
        double trusted = 0;
        for (int round = 0; round < Rounds; round++, halfTrust = Math.Max(HalfTrust, halfTrust * Narrowing))
        {
            (trusted, double reach) = (0, halfTrust * pose.Scale);
            partners.Clear();
            own.Clear();
            other.Clear();
            weights.Clear();
            for (int i = 0; i < laid.Length; i++)
            {
                laid[i] = pose.Apply(row[i]);
            }

            for (int i = 0; i < laid.Length; i++)
            {
                int partner = Nearest(laid[i], teeth);
                if (Nearest(teeth[partner], laid) == i)
                {
                    double trust = 1 / (1 + ((laid[i] - teeth[partner]).LengthSquared / (reach * reach)));
                    partners.Add(partner);
                    own.Add(row[i]);
                    other.Add(teeth[partner]);
                    weights.Add(trust * trust); // Geman and McClure's, as for surfaces
                    trusted += trust;
                }
            }

            if (own.Count < LeastTeeth)
            {
                return null;
            }

            pose = ProcrustesAlignment.Align([.. own], [.. other], [.. weights]);
        }

        return (pose, trusted, partners);
    }

    private static int Nearest(Vector3d point, Vector3d[] among)
    {
        int nearest = 0;
        for (int i = 1; i < among.Length; i++)
        {
            nearest = (among[i] - point).LengthSquared < (among[nearest] - point).LengthSquared ? i : nearest;
        }

        return nearest;
    }
}
