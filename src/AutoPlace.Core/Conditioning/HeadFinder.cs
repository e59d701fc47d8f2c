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

/// <summary>Proposes frames of heads, the likeliest first, from a look at all of a mesh; called at most once.</summary>
/// <param name="cancellation">Stops the work.</param>
public delegate IReadOnlyList<HeadFrame> FrameProposer(CancellationToken cancellation);

/// <summary>
/// Finds the head in a file and its frame: first where a head's file usually has it, then where a survey of the whole mesh
/// proposes one, each looked at from the front and again as that look suggests. After either stage the likeliest places
/// are given, not the best alone: one similarity explains little of a toy's or a monster's face, so that a chance view of
/// its neck may agree better, while looking from several sides tells the two apart.
/// </summary>
public static class HeadFinder
{
    /// <summary>Agreement above which a facing is taken without trying the ones after it.</summary>
    public const double Convincing = 0.8;

    /// <summary>Agreement below which nothing is taken for a head: where it is looked for, and where a person says how it is turned, which says that there is one.</summary>
    public const double Plausible = 0.35, PlausibleWhereTold = 0.1;

    /// <summary>The same for so many of the likeliest proposals: faces unlike any person's agree by no more, seen rightly.</summary>
    private const double PlausibleWhereProposed = 0.05;

    private const int Trusted = 3;

    /// <summary>Crops that are looked at before the best of them may convince.</summary>
    private const int LookedAtTogether = 2;

    /// <summary>How many of the best views are followed up: of each facing, and of all when none convinced.</summary>
    private const int FollowedAtOnce = 4, Followed = 8;

    /// <summary>How many proposals are looked at, and of how many the nearest facings.</summary>
    private const int Proposed = 12, Facings = 2;

    /// <summary>Places that are given after a stage at most; of generated heads that convince nowhere the right one was among the first three.</summary>
    private const int GivenAtOnce = 6;

    /// <summary>
    /// Frames that a reader settles from alike are one place: turned by less than about 30 degrees (their trace, 1 + 2 cos),
    /// moved by less than half of the larger interocular distance, scaled by less than a half.
    /// </summary>
    private const double SameTrace = 2.73, SamePlace = 0.5, SameScale = 1.5;

    /// <summary>Facings that are tried before anything is proposed: glTF's own, and Z up with the front to -Y.</summary>
    private const int Usual = 2;

    /// <summary>Least cosine between an axis that the user gave and that of a proposal: about 45 degrees.</summary>
    private const double AsTold = 0.7;

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
    /// <param name="propose">Proposes more of them.</param>
    /// <param name="cancellation">Stops the search.</param>
    /// <returns>Places as they are found; each with the last look at it.</returns>
    /// <exception cref="HeadNotFoundException">No view looks like a head.</exception>
    public static IEnumerable<FrameScore> Find(
        string file, TriangleMesh mesh, Vector3d? up, Vector3d? front, FrameScorer score, FrameProposer propose, CancellationToken cancellation)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        ArgumentNullException.ThrowIfNull(score);
        ArgumentNullException.ThrowIfNull(propose);
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
                Facing[] usual = [.. axes.Take(Usual)];
                var seen = new List<FrameScore>();
                foreach (FrameScore place in Search(usual, seen))
                {
                    yield return place;
                }

                // Heads of toys never convince; in a usual facing a plausible one is tried before anything is proposed.
                foreach (FrameScore place in Likeliest(seen.Where(s => usual.Any(f => IsNearest(f, s.Refined))), given, plausible))
                {
                    yield return place;
                }

                // What stands along other axes is looked at as in the usual facings, so that it's found alike in any axes.
                HeadFrame[] proposed = [.. propose(cancellation).Where(AgreesWithAxes).Take(Proposed)];
                Facing[] others = [.. proposed.Take(Facings).Select(frame => axes.MaxBy(f => Alignment(f, frame))).Distinct().Except(usual)];
                foreach (FrameScore place in Search(others, seen))
                {
                    yield return place;
                }

                FrameScore[] atProposals = score(proposed, cancellation);
                seen.AddRange(atProposals);
                List<FrameScore> looks = LookAgain(Best(seen.Where(s => !IsAmong(given, s)), Followed), score, cancellation);
                best = looks.Concat(seen).Select(s => s.Agreement).Append(0).Max();

                // The likeliest proposals are worth looking at from several sides where a single look isn't sure of them, too.
                foreach (FrameScore place in Likeliest(looks.Concat(seen), given, plausible)
                    .Concat(Likeliest(atProposals.Take(Trusted), given, PlausibleWhereProposed)))
                {
                    yield return place;
                }
            }
        }

        IEnumerable<FrameScore> Search(Facing[] facings, List<FrameScore> seen) =>
            facings.SelectMany(facing => LookThrough(facing, HeadCrops.Candidates(mesh.Positions, facing), seen, score, cancellation));

        bool AgreesWithAxes(HeadFrame frame) =>
            (up is null || Vector3d.Dot(up.Value, frame.Up) >= AsTold) && (front is null || Vector3d.Dot(front.Value, frame.Front) >= AsTold);
    }

    // What looks like a head but doesn't convince is looked at again as it suggests, at once.
    private static IEnumerable<FrameScore> LookThrough(
        Facing facing, IReadOnlyList<HeadFrame> crops, List<FrameScore> seen, FrameScorer score, CancellationToken cancellation)
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

        FrameScore[] promising = Best(seen.Skip(before), FollowedAtOnce);
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

    private static bool IsAmong(List<FrameScore> given, FrameScore view) => given.Exists(g => g.Refined.IsLike(view.Refined, SameTrace, SamePlace, SameScale));

    private static bool IsNearest(Facing facing, HeadFrame frame) =>
        Alignment(facing, frame) >= AxisFrames.All.Max(other => Alignment(other, frame));

    private static double Alignment(Facing facing, HeadFrame frame) =>
        Vector3d.Dot(facing.Left, frame.Left) + Vector3d.Dot(facing.Up, frame.Up) + Vector3d.Dot(facing.Front, frame.Front);

    // A stable sort: of equally good views the first stays first.
    private static FrameScore[] Best(IEnumerable<FrameScore> views, int most) =>
        [.. views.OrderByDescending(s => s.Agreement).Take(most)];

    private static FrameScore Better(FrameScore a, FrameScore b) => b.Agreement > a.Agreement ? b : a;
}
