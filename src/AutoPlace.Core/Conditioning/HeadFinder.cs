using AutoPlace.Geometry;

namespace AutoPlace.Conditioning;

/// <summary>What looking at a mesh through a candidate frame said.</summary>
/// <param name="Agreement">How much this looks like a head seen from the front, in [0, 1].</param>
/// <param name="Candidate">The frame that it was looked at through.</param>
/// <param name="Refined">The frame that the view's own correspondences suggest; the candidate itself when they say nothing.</param>
public readonly record struct FrameScore(double Agreement, HeadFrame Candidate, HeadFrame Refined);

/// <summary>Looks at candidate frames. Scores come in the order of the candidates and depend on nothing else.</summary>
/// <param name="candidates">Frames to look through.</param>
/// <param name="cancellation">Stops the work.</param>
public delegate FrameScore[] FrameScorer(IReadOnlyList<HeadFrame> candidates, CancellationToken cancellation);

/// <summary>
/// Finds the head in a file and its frame by looking from all sides: axis-aligned facings first, the usual ones before
/// the others; then again through what the best views suggest, and below hats and raised arms; last between the axes.
/// After each of these stages the likeliest places that a head has been seen at are given, not the best alone: one
/// similarity explains little of a toy's or a monster's face, so that a chance view of its neck may agree better, while
/// looking from several sides tells the two apart for much less than the next stage costs.
/// </summary>
public static class HeadFinder
{
    /// <summary>Agreement above which a facing is taken without trying the ones after it.</summary>
    public const double Convincing = 0.8;

    /// <summary>Agreement below which nothing is taken for a head: where it is looked for, and where a person says how it is turned, which says that there is one.</summary>
    public const double Plausible = 0.35, PlausibleWhereTold = 0.1;

    /// <summary>
    /// Agreement below which a view shows nothing of a head. Heads turned to between the axes, with a hat, still agree by
    /// 0.013 in the best of the axis facings, a cube by 0.003.
    /// </summary>
    private const double Conceivable = 0.01;

    /// <summary>Where a head's vertex may lie below the top of a hat or a raised arm, interocular distances.</summary>
    private const double Lowered = 1.2;

    /// <summary>Crops that are looked at before the best of them may convince.</summary>
    private const int LookedAtTogether = 2;

    /// <summary>How many of the best views are followed up: of each facing, and of all when none convinced.</summary>
    private const int FollowedAtOnce = 4, Followed = 8;

    /// <summary>Places that are given after a stage at most; of generated heads that convince nowhere the right one was among the first three.</summary>
    private const int GivenAtOnce = 6;

    /// <summary>
    /// Frames that a reader settles from alike are one place: turned by less than about 30 degrees (their trace, 1 + 2 cos),
    /// moved by less than half of the larger interocular distance, scaled by less than a half.
    /// </summary>
    private const double SameTrace = 2.73, SamePlace = 0.5, SameScale = 1.5;

    /// <summary>Facings that are also tried below hats and raised arms before the others are tried at all: glTF's own, and Z up with the front to -Y.</summary>
    private const int Usual = 2;

    private const int RefinementRounds = 2;

    /// <summary>
    /// Looks for the head, the likeliest places first. Each place is what a single look took for a head's front; a caller
    /// who finds that one is none goes on to the next.
    /// </summary>
    /// <param name="file">Name of the file, for the message.</param>
    /// <param name="mesh">The mesh, file coordinates.</param>
    /// <param name="up">Up axis if the user said so.</param>
    /// <param name="front">Front axis if the user said so.</param>
    /// <param name="score">Looks at candidates.</param>
    /// <param name="cancellation">Stops the search.</param>
    /// <returns>Places as they are found; each with the last look at it.</returns>
    /// <exception cref="HeadNotFoundException">No view looks like a head.</exception>
    public static IEnumerable<FrameScore> Find(
        string file, TriangleMesh mesh, Vector3d? up, Vector3d? front, FrameScorer score, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        ArgumentNullException.ThrowIfNull(score);
        double plausible = up is not null && front is not null ? PlausibleWhereTold : Plausible;
        return Places();

        IEnumerable<FrameScore> Places()
        {
            double best = 0;
            var given = new List<FrameScore>();
            foreach (FrameScore place in Found())
            {
                given.Add(place);
                yield return place;
            }

            if (given.Count == 0)
            {
                throw new HeadNotFoundException(
                    file, $"no head found: the best view agrees by {best:0.00}, a head's by more than {plausible:0.00}");
            }

            IEnumerable<FrameScore> Found()
            {
                IReadOnlyList<Facing> axes = AxisFrames.Matching(up, front);
                Facing[] usual = [.. axes.Take(Usual)], others = [.. axes.Skip(Usual)];
                var seen = new List<FrameScore>();
                IEnumerable<FrameScore> convincing = Search(usual, 0, 0, seen).Concat(Search(usual, Lowered, 0, seen));

                // Heads of toys never convince; in a usual facing a plausible one is tried before all the other facings.
                foreach (FrameScore place in convincing.Concat(Likeliest(seen.Where(s => usual.Any(f => IsNearest(f, s.Refined))), given, plausible)))
                {
                    yield return place;
                }

                foreach (FrameScore place in Search(others, 0, plausible, seen).Concat(FollowedUp(seen)))
                {
                    yield return place;
                }

                if (best < plausible && !seen.Exists(s => s.Agreement >= Conceivable))
                {
                    yield break;
                }

                Facing[] between = up is null && front is null ? [.. BetweenAxes()] : [];
                foreach (FrameScore place in Search(others, Lowered, plausible, seen)
                    .Concat(Search(between, 0, plausible, seen)).Concat(FollowedUp(seen)))
                {
                    yield return place;
                }
            }

            // Enumerated after the search that fills the list.
            IEnumerable<FrameScore> FollowedUp(List<FrameScore> seen)
            {
                List<FrameScore> looks = LookAgain(Best(seen.Where(s => !IsAmong(given, s)), Followed), score, cancellation);
                best = looks.Select(s => s.Agreement).Append(best).Max();
                foreach (FrameScore place in Likeliest(looks.Concat(seen), given, plausible))
                {
                    yield return place;
                }
            }
        }

        IEnumerable<FrameScore> Search(Facing[] facings, double lowered, double least, List<FrameScore> seen) =>
            facings.SelectMany(facing =>
                LookThrough(facing, HeadCrops.Candidates(mesh.Positions, facing, lowered), least, seen, score, cancellation));
    }

    // What looks like a head but doesn't convince is looked at again as it suggests, at once.
    private static IEnumerable<FrameScore> LookThrough(
        Facing facing, IReadOnlyList<HeadFrame> crops, double least, List<FrameScore> seen, FrameScorer score, CancellationToken cancellation)
    {
        int before = seen.Count;
        foreach (HeadFrame[] looked in crops.Chunk(LookedAtTogether))
        {
            FrameScore[] scores = score(looked, cancellation);
            foreach (FrameScore convincing in scores.Where(s => s.Agreement >= Convincing).OrderByDescending(s => s.Agreement))
            {
                yield return convincing;
            }

            seen.AddRange(scores.Where(s => s.Agreement < Convincing));
        }

        FrameScore[] promising = [.. Best(seen.Skip(before), FollowedAtOnce).Where(s => s.Agreement >= least)];
        if (promising.Length > 0)
        {
            // A head that faces elsewhere is left to the facing nearest to it, so that it's found alike in any axes.
            FrameScore best = LookAgain(promising, score, cancellation).Aggregate(Better);
            if (best.Agreement >= Convincing && IsNearest(facing, best.Refined))
            {
                yield return best;
            }
            else
            {
                seen.Add(best);
            }
        }
    }

    // Looks through what the views suggest, then through what those suggest; all these views, the given ones first.
    private static List<FrameScore> LookAgain(FrameScore[] views, FrameScorer score, CancellationToken cancellation)
    {
        List<FrameScore> all = [.. views];
        for (int round = 0; round < RefinementRounds && views.Length > 0 && all.TrueForAll(s => s.Agreement < Convincing); round++)
        {
            views = score([.. views.Select(s => s.Refined)], cancellation);
            all.AddRange(views);
        }

        return all;
    }

    // The best view of each place that isn't among the given ones yet; those grow while this is enumerated.
    private static IEnumerable<FrameScore> Likeliest(IEnumerable<FrameScore> views, List<FrameScore> given, double plausible)
    {
        int most = given.Count + GivenAtOnce;
        foreach (FrameScore view in views.Where(s => s.Agreement >= plausible).OrderByDescending(s => s.Agreement))
        {
            if (given.Count < most && !IsAmong(given, view))
            {
                yield return view;
            }
        }
    }

    private static bool IsAmong(List<FrameScore> given, FrameScore view) => given.Exists(g => IsSamePlace(g.Refined, view.Refined));

    private static bool IsSamePlace(HeadFrame a, HeadFrame b)
    {
        (double small, double large) = a.InterocularDistance < b.InterocularDistance
            ? (a.InterocularDistance, b.InterocularDistance)
            : (b.InterocularDistance, a.InterocularDistance);
        return Vector3d.Dot(a.Left, b.Left) + Vector3d.Dot(a.Up, b.Up) + Vector3d.Dot(a.Front, b.Front) >= SameTrace
            && Vector3d.Distance(a.Origin, b.Origin) <= SamePlace * large
            && large <= SameScale * small;
    }

    private static bool IsNearest(Facing facing, HeadFrame frame)
    {
        double Alignment(Facing f) =>
            Vector3d.Dot(f.Left, frame.Left) + Vector3d.Dot(f.Up, frame.Up) + Vector3d.Dot(f.Front, frame.Front);
        return Alignment(facing) >= AxisFrames.All.Max(Alignment);
    }

    // A stable sort: of equally good views the first stays first.
    private static FrameScore[] Best(IEnumerable<FrameScore> views, int most) =>
        [.. views.OrderByDescending(s => s.Agreement).Take(most)];

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
