using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// Lays rows on the closed edge loops that model on this head what they follow on the template's own: on the loop that lies
/// where the template's is expected, on skin that faces as it does there and turns over as much, and that opens as far.
/// Between loops about as likely rows lie between, nearer to the likelier, so that no hair's breadth decides.
/// </summary>
internal static class LoopAlignment
{
    /// <summary>How far round an expected loop others are looked for, interocular distances.</summary>
    private const double Reach = 0.15;

    /// <summary>A loop as unlike as this is as likely not the one as it is, and rows stay where they are (<see cref="SkinLoop.Unlikeness"/>).</summary>
    private const double MostUnlike = 12;

    /// <summary>A loop that is more unlike than another by this is less likely by the factor e.</summary>
    private const double Doubt = 0.4;

    /// <summary>A joint goes to its place on a loop fully up to so far, interocular distances, and not at all beyond: the loop doesn't model what it stands for there, such as a corner that a coarse mesh closed.</summary>
    private const double Near = 0.03, Far = 0.08;

    /// <summary>By how much a place may lie behind the outermost one and still be as much a part of the corner, interocular distances.</summary>
    private const double Bluntness = 0.004;

    /// <summary>Finds the loops of a head that its rows belong on.</summary>
    /// <param name="template">The template.</param>
    /// <param name="warp">From the template to the head.</param>
    /// <param name="evidence">The head.</param>
    public static IReadOnlyList<FollowedLoop> Find(PreparedTemplate template, HeadWarp warp, HeadEvidence evidence)
    {
        IReadOnlyList<RowLoop> expected = template.RowLoops;
        PolygonalChain[] lines = [.. expected.Select(loop => new PolygonalChain([.. loop.Points.Select((p, i) => warp.ApplyOnLip(p, loop.Lips[i]))], closed: true))];
        IReadOnlyList<SkinLoop> found = expected.Count > 0 ? SkinLoop.Near(evidence.Polygons, evidence.Skin, lines, Reach) : [];
        var followed = new FollowedLoop[expected.Count];
        Parallel.For(0, followed.Length, e =>
        {
            RowLoop loop = expected[e];
            Vector3d[] normals = found.Count > 0 ? [.. loop.Points.Select((p, i) => warp.LocalSimilarity(p, loop.Lips[i]).Rotation * loop.Normals[i])] : [];
            double gap = SkinLoop.GapOf(lines[e]);
            (SkinLoop Loop, double Unlike)[] likely = [.. found.Select(f => (f, f.Unlikeness(lines[e], normals, gap, loop.Turn))).Where(f => f.Item2 < MostUnlike)];
            double least = likely.Select(f => f.Unlike).DefaultIfEmpty(MostUnlike).Min();
            double stays = Math.Exp((least - MostUnlike) / Doubt), sum = stays + likely.Sum(f => Likelihood(f.Unlike));
            followed[e] = new FollowedLoop(loop, [.. likely.Select(f => (f.Loop, Likelihood(f.Unlike) / sum)).OrderByDescending(f => f.Item2)]);

            double Likelihood(double unlike) => Math.Exp((least - unlike) / Doubt);
        });
        return followed;
    }

    /// <summary>Where the joints on a followed loop go: points of the skin, and how it faces there.</summary>
    /// <param name="followed">The loop.</param>
    /// <param name="lattice">The joints and rows.</param>
    /// <param name="expected">
    /// For a joint where it is expected, by which its place on the loop is found: in a fold the skin that is nearest may be another
    /// sheet for a hair's breadth, and what is expected doesn't jump.
    /// </param>
    /// <param name="on">For a joint the point of the skin that it was put on, from which it goes to that place.</param>
    public static Dictionary<string, SkinTarget> Lay(
        FollowedLoop followed, JointLattice lattice, Func<string, SkinTarget> expected, Func<string, SkinTarget> on)
    {
        JointSequence[] rows = [.. lattice.Rows.Where(row => followed.Expected.Rows.Contains(row.Name))];
        var targets = rows.SelectMany(row => row.Joints).Distinct().ToDictionary(name => name, expected, StringComparer.Ordinal);
        Vector3d centre = targets.Values.Aggregate(Vector3d.Zero, (sum, target) => sum + (target.Position * (1.0 / targets.Count)));
        string[] ends = [.. rows.Where(row => !row.Closed).SelectMany(row => new[] { row.Joints[0], row.Joints[^1] }).Where(followed.Expected.Joints.Contains)
            .GroupBy(name => name, StringComparer.Ordinal).Where(same => same.Count() > 1).Select(same => same.Key)];
        var moves = new Dictionary<string, SkinTarget>(StringComparer.Ordinal);
        foreach ((SkinLoop loop, double weight) in followed.OnHead)
        {
            var corners = ends.ToDictionary(name => name, name => Corner(loop.Line, targets[name].Position, centre), StringComparer.Ordinal);
            foreach ((string name, LinePlace place) in Places(loop, rows, targets, corners).Where(place => followed.Expected.Joints.Contains(place.Key)))
            {
                SkinTarget so = moves.GetValueOrDefault(name), from = on(name);
                double share = weight * Closeness(place, targets[name]);
                moves[name] = new SkinTarget(
                    so.Position + ((place.Position - from.Position) * share),
                    so.Normal + ((loop.NormalAt(place.Edge, place.Fraction) - from.Normal) * share));
            }
        }

        return moves.ToDictionary(move => move.Key, move => Moved(on(move.Key), move.Value), StringComparer.Ordinal);

        static SkinTarget Moved(SkinTarget from, SkinTarget by) => new(from.Position + by.Position, (from.Normal + by.Normal).Normalized());
    }

    // Where the joints of rows belong on a loop: between two corners in their proportions, as far as the loop models these, else where it is nearest.
    private static Dictionary<string, LinePlace> Places(
        SkinLoop loop, JointSequence[] rows, Dictionary<string, SkinTarget> targets, Dictionary<string, LinePlace> corners)
    {
        var all = new Dictionary<string, LinePlace>(StringComparer.Ordinal);
        foreach (JointSequence row in rows)
        {
            SkinTarget[] joints = [.. row.Joints.Select(name => targets[name])];
            LinePlace[] places = [.. joints.Select(joint => loop.Nearest(joint.Position, joint.Normal))];
            if (!row.Closed && corners.TryGetValue(row.Joints[0], out LinePlace first) && corners.TryGetValue(row.Joints[^1], out LinePlace last))
            {
                LinePlace[] spread = Spread(loop, first, last, joints);
                double modelled = Math.Min(Closeness(first, joints[0]), Closeness(last, joints[^1]));
                places = [.. places.Select((place, k) => loop.Nearest(Vector3d.Lerp(place.Position, spread[k].Position, modelled), joints[k].Normal))];
            }

            for (int k = 0; k < places.Length; k++)
            {
                all[row.Joints[k]] = places[k];
            }
        }

        return all;
    }

    // The outermost place of a loop, as seen from the middle towards where the corner is expected; of a blunt corner its middle.
    private static LinePlace Corner(PolygonalChain line, Vector3d expected, Vector3d centre)
    {
        Vector3d outward = (expected - centre).Normalized();
        (double most, double weights, Vector3d sum) = (double.NegativeInfinity, 0, Vector3d.Zero);
        const int Steps = 4;
        var near = new List<(Vector3d At, double Out)>();
        for (int i = 0; i < line.Points.Length; i++)
        {
            for (int k = 0; k < Steps; k++)
            {
                Vector3d at = Vector3d.Lerp(line.Points[i], line.Points[(i + 1) % line.Points.Length], (double)k / Steps);
                if (Vector3d.Distance(at, expected) < Far)
                {
                    near.Add((at, Vector3d.Dot(at - centre, outward)));
                    most = Math.Max(most, near[^1].Out);
                }
            }
        }

        foreach ((Vector3d at, double far) in near)
        {
            double weight = Math.Exp((far - most) / Bluntness);
            (weights, sum) = (weights + weight, sum + (at * weight));
        }

        return line.Nearest(weights > 0 ? sum * (1 / weights) : expected);
    }

    // Along the side of the loop between two corners that the joints belong to, in the proportions that they have.
    private static LinePlace[] Spread(SkinLoop loop, LinePlace first, LinePlace last, SkinTarget[] joints)
    {
        var row = new PolygonalChain([.. joints.Select(joint => joint.Position)], closed: false);
        double length = loop.Line.Length, ahead = last.Along - first.Along;
        ahead += ahead < 0 ? length : 0;
        return ((double[])[ahead, ahead - length])
            .Select(way => row.Along.Select(a => loop.Line.At(first.Along + (row.Length > 0 ? way * a / row.Length : 0))).ToArray())
            .MinBy(places => places.Zip(joints).Sum(pair => loop.Misfit(pair.First, pair.Second.Position, pair.Second.Normal)))!;
    }

    // 1 for a place near to where a joint is expected, 0 for one too far away.
    private static double Closeness(LinePlace place, SkinTarget expected)
    {
        double t = Math.Clamp((Far - Vector3d.Distance(place.Position, expected.Position)) / (Far - Near), 0, 1);
        return t * t * (3 - (2 * t));
    }
}

/// <summary>A point of the skin, and how it faces there.</summary>
/// <param name="Position">Position.</param>
/// <param name="Normal">Unit normal.</param>
internal readonly record struct SkinTarget(Vector3d Position, Vector3d Normal);

/// <summary>A loop that rows of a template lie on, and what may be that loop on a head.</summary>
/// <param name="Expected">The template's.</param>
/// <param name="OnHead">Loops of the head with their likelihood, the likeliest first; what is missing to 1 is that of none.</param>
internal sealed record FollowedLoop(RowLoop Expected, IReadOnlyList<(SkinLoop Loop, double Likelihood)> OnHead)
{
    /// <summary>What the rows of a lattice are laid on.</summary>
    public RowsOnLoop Of(JointLattice lattice) => new(
        [.. lattice.Rows.Select(row => row.Name).Where(Expected.Rows.Contains)], Expected.Joints, OnHead.Count > 0 ? OnHead[0].Loop.Line : null, OnHead.Sum(loop => loop.Likelihood));
}
