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

/// <summary>No head was found in a file.</summary>
public sealed class NoHeadException : PlacementException
{
    /// <summary>Makes the exception.</summary>
    /// <param name="file">Name of the file.</param>
    /// <param name="reason">Why nothing was taken for a head.</param>
    public NoHeadException(string file, string reason)
        : base($"{file}: no head found: {reason}")
    {
    }
}

/// <summary>
/// Finds the head in a file and its frame by looking from all sides: axis-aligned facings first, facings between the
/// axes only when those show no head, and re-framing by what the best view shows.
/// </summary>
public static class HeadFinder
{
    /// <summary>Agreement above which a facing is taken without trying the ones after it. Correct frames of the development heads score above 0.75, wrong ones below 0.35.</summary>
    public const double Convincing = 0.6;

    /// <summary>Agreement below which nothing is taken for a head.</summary>
    public const double Plausible = 0.35;

    private const int RefinementRounds = 3;

    /// <summary>Finds the head.</summary>
    /// <param name="file">Name of the file, for the message.</param>
    /// <param name="mesh">The mesh, file coordinates.</param>
    /// <param name="up">Up axis if the user said so.</param>
    /// <param name="front">Front axis if the user said so.</param>
    /// <param name="score">Looks at candidates.</param>
    /// <param name="cancellation">Stops the search.</param>
    /// <returns>The frame and the agreement of the last look through it.</returns>
    /// <exception cref="NoHeadException">No view looks like a head.</exception>
    public static FrameScore Find(
        string file, TriangleMesh mesh, Vector3d? up, Vector3d? front, FrameScorer score, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        ArgumentNullException.ThrowIfNull(score);
        FrameScore best = Best(mesh, AxisFrames.Matching(up, front), score, cancellation);
        if (best.Agreement < Convincing && up is null && front is null)
        {
            FrameScore between = Best(mesh, BetweenAxes(), score, cancellation);
            best = between.Agreement > best.Agreement ? between : best;
        }

        if (!(best.Agreement >= Plausible))
        {
            throw new NoHeadException(file, $"the best view agrees by {Math.Max(best.Agreement, 0):0.00}, a head by more than {Plausible:0.00}");
        }

        return Refine(best, score, cancellation);
    }

    // Looks again through the frame that the last look suggested, as long as that doesn't make it worse.
    private static FrameScore Refine(FrameScore found, FrameScorer score, CancellationToken cancellation)
    {
        for (int round = 0; round < RefinementRounds; round++)
        {
            FrameScore next = score([found.Refined], cancellation)[0];
            if (next.Agreement < 0.8 * found.Agreement)
            {
                break;
            }

            found = next;
        }

        return found;
    }

    private static FrameScore Best(
        TriangleMesh mesh, IReadOnlyList<Facing> facings, FrameScorer score, CancellationToken cancellation)
    {
        FrameScore best = new(double.NegativeInfinity, new HeadFrame(default, Vector3d.UnitX, Vector3d.UnitY, Vector3d.UnitZ, 1));
        foreach (Facing facing in facings)
        {
            IReadOnlyList<HeadFrame> candidates = HeadCrops.Candidates(mesh.Positions, facing);
            foreach (FrameScore s in score(candidates, cancellation))
            {
                best = s.Agreement > best.Agreement ? s : best;
            }

            if (best.Agreement >= Convincing)
            {
                break;
            }
        }

        return best;
    }

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
