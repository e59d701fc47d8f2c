using AutoPlace.Geometry;

namespace AutoPlace.Conditioning;

/// <summary>What looking at a mesh through a candidate frame said.</summary>
/// <param name="Agreement">How much this looks like a head seen from the front, in [0, 1].</param>
/// <param name="Refined">The frame that the view's own correspondences suggest; the candidate itself when they say nothing.</param>
public readonly record struct FrameScore(double Agreement, HeadFrame Refined);

/// <summary>Looks at candidate frames. Scores come in the order of the candidates and depend on nothing else.</summary>
/// <param name="candidates">Frames to look through.</param>
/// <param name="cancellation">Stops the work.</param>
public delegate FrameScore[] FrameScorer(IReadOnlyList<HeadFrame> candidates, CancellationToken cancellation);

/// <summary>
/// Finds the head in a file and its frame by looking from all sides: axis-aligned facings first, the usual ones before
/// the others; then again through what the best views suggest; then below hats and raised arms, and between the axes.
/// </summary>
public static class HeadFinder
{
    /// <summary>Agreement above which a facing is taken without trying the ones after it.</summary>
    public const double Convincing = 0.8;

    /// <summary>Agreement below which nothing is taken for a head.</summary>
    public const double Plausible = 0.35;

    /// <summary>Where a head's vertex may lie below the top of a hat or a raised arm, interocular distances.</summary>
    private const double Lowered = 1.2;

    /// <summary>How many of the best views are followed up.</summary>
    private const int Followed = 8;

    private const int RefinementRounds = 2;

    /// <summary>Finds the head.</summary>
    /// <param name="file">Name of the file, for the message.</param>
    /// <param name="mesh">The mesh, file coordinates.</param>
    /// <param name="up">Up axis if the user said so.</param>
    /// <param name="front">Front axis if the user said so.</param>
    /// <param name="score">Looks at candidates.</param>
    /// <param name="cancellation">Stops the search.</param>
    /// <returns>The frame and the agreement of the last look through it.</returns>
    /// <exception cref="HeadNotFoundException">No view looks like a head.</exception>
    public static FrameScore Find(
        string file, TriangleMesh mesh, Vector3d? up, Vector3d? front, FrameScorer score, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        ArgumentNullException.ThrowIfNull(score);
        IReadOnlyList<Facing> axes = AxisFrames.Matching(up, front);
        FrameScore best = Search(mesh, axes, 0, score, cancellation);
        if (best.Agreement < Convincing)
        {
            best = Better(best, Search(mesh, axes, Lowered, score, cancellation));
        }

        if (best.Agreement < Convincing && up is null && front is null)
        {
            best = Better(best, Search(mesh, BetweenAxes(), 0, score, cancellation));
        }

        return best.Agreement >= Plausible
            ? best
            : throw new HeadNotFoundException(
                file, $"no head found: the best view agrees by {Math.Max(best.Agreement, 0):0.00}, a head by more than {Plausible:0.00}");
    }

    // One facing after the other until one convinces; if none does, the best views are looked at again as they suggest.
    private static FrameScore Search(
        TriangleMesh mesh, IReadOnlyList<Facing> facings, double lowered, FrameScorer score, CancellationToken cancellation)
    {
        var seen = new List<FrameScore>();
        foreach (Facing facing in facings)
        {
            FrameScore[] scores = score(HeadCrops.Candidates(mesh.Positions, facing, lowered), cancellation);
            seen.AddRange(scores);
            if (scores.Any(s => s.Agreement >= Convincing))
            {
                break;
            }
        }

        // A stable sort: of equally good views the first stays first.
        FrameScore[] followed = [.. seen.OrderByDescending(s => s.Agreement).Take(Followed)];
        FrameScore best = followed.FirstOrDefault();
        for (int round = 0; round < RefinementRounds && best.Agreement < Convincing && followed.Length > 0; round++)
        {
            followed = score([.. followed.Select(s => s.Refined)], cancellation);
            best = followed.Aggregate(best, Better);
        }

        return best;
    }

    private static FrameScore Better(FrameScore a, FrameScore b) => b.Agreement > a.Agreement ? b : a;

    // The 24 axis facings turned by 45 degrees about each of their own axes: no rotation is farther than about 40
    // degrees from one of these or of the axis facings.
    private static List<Facing> BetweenAxes()
    {
        double s = Math.Sqrt(0.5);
        var between = new List<Facing>();
        foreach (Facing f in AxisFrames.All)
        {
            between.Add(new((f.Left + f.Front) * s, f.Up, (f.Front - f.Left) * s));
            between.Add(new(f.Left, (f.Up + f.Front) * s, (f.Front - f.Up) * s));
            between.Add(new((f.Left + f.Up) * s, (f.Up - f.Left) * s, f.Front));
        }

        return between;
    }
}
