using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>Teeth and tongue of a template's own head, as they were found by those of the atlas.</summary>
/// <param name="FromAtlas">From the atlas to the head, for parts that were found.</param>
/// <param name="Own">The head's own points of them.</param>
/// <param name="IsOpen">True where its lips are wide apart.</param>
internal sealed record FoundMouth(IReadOnlyDictionary<Ride, SimilarityTransform> FromAtlas, MouthParts Own, bool IsOpen);

/// <summary>
/// Teeth and tongue of a template: where those of a head are that has some. They are laid on whatever lies inside the mouth
/// by closeness, each from where it is expected; rows that are modelled tooth by tooth on both are laid tooth on tooth.
/// </summary>
internal sealed class MouthParts
{
    /// <summary>Distance at which a point's trust has dropped to half, interocular distances of the atlas: gums are thicker.</summary>
    private const double HalfTrust = 0.05;

    /// <summary>
    /// Mean trust from which on a row of teeth, and a tongue, is taken to be modelled: a bag behind the lips has less in common with
    /// teeth, and so have teeth of triangles as large as a tooth. On rigs of 32 generated heads rows that settled with less were off by
    /// three times as much as the face alone would have put them.
    /// </summary>
    private const double LeastTrust = 0.8, LeastTrustOfTongue = 0.7;

    /// <summary>By how much more a row's surface is trusted than its teeth one by one, which fit exactly or not at all, while surfaces fit nearly anywhere in a mouth.</summary>
    private const double SurfaceAdvantage = 0.3;

    /// <summary>A part that settles farther from where it was expected has slid onto something else: 20 degrees, interocular distances, logarithm of the size.</summary>
    private static readonly SettlingLimits Near = new(LeastAlignment: 0.94, FarthestPlace: 0.3, MostScaling: 0.15);

    /// <summary>The same of rows laid tooth on tooth: less than half as far as the other row is, which they would fit, too.</summary>
    private static readonly SettlingLimits NearTeeth = Near with { FarthestPlace = 0.15 };

    /// <summary>The same of tongues, which differ more than rows of teeth.</summary>
    private static readonly SettlingLimits NearTongue = Near with { MostScaling = 0.35 };

    /// <summary>Both rows' middles lie at least so far apart, over how far they do in the atlas, whose teeth are closed: however they overlap.</summary>
    private const double LeastApart = 0.5;

    /// <summary>What is farther from where the parts are expected can't be one of them, interocular distances.</summary>
    private const float Margin = 0.3f;

    /// <summary>A point of a head this near to a part that was laid on it belongs to the part, interocular distances.</summary>
    private const float OwnReach = 0.08f;

    /// <summary>The same of the middle of a tooth; from the other row's teeth it is farther away.</summary>
    private const double ToothReach = 0.1;

    private const int MostPoints = 160;

    private static readonly (string Part, Ride Ride)[] Parts = [("teeth_upper", Ride.TeethUpper), ("teeth_lower", Ride.TeethLower), ("tongue", Ride.Tongue)];

    private readonly Dictionary<Ride, Vector3d[]> _parts = [];
    private readonly Dictionary<Ride, IReadOnlyList<Vector3d>> _teeth = [];
    private readonly double _leastApart;

    /// <summary>Takes the parts of the template that was shaped after the atlas.</summary>
    public MouthParts(TemplateHead atlas)
    {
        TriangleMesh mesh = atlas.Mesh.Triangulate(out int[] faces);
        foreach ((string part, Ride ride) in Parts)
        {
            TriangleMesh own = mesh.Subset([.. Enumerable.Range(0, faces.Length).Where(t => atlas.FaceParts[faces[t]] == part)]);
            Add(ride, [.. own.Indices.ToArray().Distinct().Order().Select(v => (Vector3d)own.Positions[v])]);
            _teeth.Add(ride, [.. Tooth.Of(own).Select(tooth => tooth.Middle(Matrix3d.Identity))]);
        }

        _leastApart = _parts.TryGetValue(Ride.TeethUpper, out Vector3d[]? above) && _parts.TryGetValue(Ride.TeethLower, out Vector3d[]? below)
            ? LeastApart * Vector3d.Distance(Middle(above), Middle(below))
            : 0;
    }

    private MouthParts(double leastApart) => _leastApart = leastApart;

    /// <summary>The same parts of a head that they were found on: its own points near to them.</summary>
    /// <param name="mesh">The pieces of the head that aren't skin.</param>
    /// <param name="found">From these parts to that mesh.</param>
    public MouthParts On(TriangleMesh mesh, IReadOnlyDictionary<Ride, SimilarityTransform> found)
    {
        if (found.Count == 0)
        {
            return new MouthParts(0);
        }

        (Ride Ride, Vector3d Point)[] laid = [.. found.SelectMany(part => _parts[part.Key].Select(p => (part.Key, part.Value.Apply(p))))];
        (Vector3 low, Vector3 high) = Bounds(laid.Select(l => l.Point), OwnReach);
        var own = new MouthParts(found.TryGetValue(Ride.TeethUpper, out SimilarityTransform? upper) ? _leastApart * upper.Scale : 0);
        foreach (IGrouping<Ride, Vector3d> part in mesh.Indices.ToArray().Distinct().Order().Select(v => mesh.Positions[v])
            .Where(p => Vector3.Clamp(p, low, high) == p)
            .Select(p => (Point: (Vector3d)p, Near: laid.MinBy(l => (l.Point - p).LengthSquared)))
            .Where(p => Vector3d.Distance(p.Point, p.Near.Point) < OwnReach)
            .GroupBy(p => p.Near.Ride, p => p.Point))
        {
            own.Add(part.Key, [.. part]);
        }

        foreach (IGrouping<Ride, Vector3d> row in Tooth.Of(mesh).Select(tooth => tooth.Middle(Matrix3d.Identity))
            .Select(middle => (Middle: middle, Near: laid.MinBy(l => (l.Point - middle).LengthSquared)))
            .Where(t => t.Near.Ride is Ride.TeethUpper or Ride.TeethLower && Vector3d.Distance(t.Middle, t.Near.Point) < ToothReach)
            .GroupBy(t => t.Near.Ride, t => t.Middle))
        {
            own._teeth.Add(row.Key, [.. row]);
        }

        return own;
    }

    /// <summary>Where the parts are on a head.</summary>
    /// <param name="mesh">The pieces of the head that aren't skin.</param>
    /// <param name="starts">From these parts' template to that mesh, nearly: for a part, after those found before it, the places to look for it from.</param>
    /// <returns>From the template to the mesh, for parts that are found.</returns>
    public IReadOnlyDictionary<Ride, SimilarityTransform> Find(
        TriangleMesh mesh, Func<Ride, IReadOnlyDictionary<Ride, SimilarityTransform>, IEnumerable<SimilarityTransform>> starts)
    {
        var found = new Dictionary<Ride, SimilarityTransform>();
        (TriangleMesh others, HashSet<int> taken) = (mesh, []);
        IReadOnlyList<Tooth> teeth = _teeth.Count > 0 ? Tooth.Of(mesh) : [];
        foreach ((_, Ride ride) in Parts)
        {
            SimilarityTransform[] from = [.. starts(ride, found)];
            bool Accept(SimilarityTransform onHead) => ride != Ride.TeethLower || IsApart(onHead, found);
            (SimilarityTransform Similarity, double Trust)? onSurface = OnSurface(ride, others, from, Accept);
            FoundRow? onTeeth = _teeth.TryGetValue(ride, out IReadOnlyList<Vector3d>? row)
                ? SeparateTeeth.Find(row, teeth, from, (start, rest) => NearTeeth.Hold(start, rest, Middle(row)) && Accept(rest))
                : null;
            if (onTeeth is not null && onTeeth.Trust > (onSurface?.Trust ?? 0) - SurfaceAdvantage)
            {
                found.Add(ride, onTeeth.Similarity);
                teeth = [.. teeth.Except(onTeeth.Teeth)]; // a tooth of one row isn't one of the other, nor the tongue
                taken.UnionWith(onTeeth.Teeth.SelectMany(tooth => tooth.Triangles));
                others = mesh.Subset([.. Enumerable.Range(0, mesh.TriangleCount).Where(t => !taken.Contains(t))]);
            }
            else if (onSurface is not null)
            {
                found.Add(ride, onSurface.Value.Similarity);
            }
        }

        return found;
    }

    // Where the surface of one part is on a head, as it fits best; null when it isn't known or isn't found.
    private (SimilarityTransform Similarity, double Trust)? OnSurface(
        Ride ride, TriangleMesh mesh, IEnumerable<SimilarityTransform> starts, Predicate<SimilarityTransform> accept)
    {
        (SimilarityTransform Similarity, double Trust)? best = null;
        if (!_parts.TryGetValue(ride, out Vector3d[]? points))
        {
            return null;
        }

        foreach (SimilarityTransform start in starts)
        {
            if (Around(mesh, points, start) is { } surface
                && ClosestSimilarity.Settle(points, surface, start, HalfTrust) is { } rest
                && rest.Trust >= (best?.Trust ?? (ride == Ride.Tongue ? LeastTrustOfTongue : LeastTrust))
                && (ride == Ride.Tongue ? NearTongue : Near).Hold(start, rest.Similarity, Middle(points))
                && accept(rest.Similarity))
            {
                best = rest;
            }
        }

        return best;
    }

    // The rows are alike, and in a wide open mouth the lower one settles on the upper one more easily than where it is.
    private bool IsApart(SimilarityTransform lower, Dictionary<Ride, SimilarityTransform> found) =>
        !found.TryGetValue(Ride.TeethUpper, out SimilarityTransform? upper)
        || Vector3d.Distance(upper.Apply(Middle(_parts[Ride.TeethUpper])), lower.Apply(Middle(_parts[Ride.TeethLower]))) >= _leastApart * upper.Scale;

    private void Add(Ride ride, Vector3d[] points)
    {
        int every = (points.Length + MostPoints - 1) / MostPoints;
        if (points.Length > 0)
        {
            _parts.Add(ride, [.. points.Where((_, i) => i % every == 0)]);
        }
    }

    private static BoundingVolumeHierarchy? Around(TriangleMesh mesh, Vector3d[] points, SimilarityTransform start)
    {
        (Vector3 low, Vector3 high) = Bounds(points.Select(start.Apply), Margin);
        int[] near = [.. Enumerable.Range(0, mesh.TriangleCount).Where(t =>
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            Vector3 middle = (a + b + c) / 3;
            return Vector3.Clamp(middle, low, high) == middle;
        })];
        return near.Length > 0 ? new BoundingVolumeHierarchy(mesh.Subset(near)) : null;
    }

    // A box and a margin; inside out when there are no points.
    private static (Vector3 Low, Vector3 High) Bounds(IEnumerable<Vector3d> points, float margin)
    {
        (Vector3 low, Vector3 high) = (new(float.PositiveInfinity), new(float.NegativeInfinity));
        foreach (Vector3d p in points)
        {
            (low, high) = (Vector3.Min(low, (Vector3)p), Vector3.Max(high, (Vector3)p));
        }

        return (low - new Vector3(margin), high + new Vector3(margin));
    }

    private static Vector3d Middle(IReadOnlyList<Vector3d> points) => points.Aggregate(Vector3d.Zero, (sum, p) => sum + p) / points.Count;
}
