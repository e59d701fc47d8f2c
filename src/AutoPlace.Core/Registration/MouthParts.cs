using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// Teeth and tongue of the atlas: where those of a head are that has some. They are laid on whatever lies inside the mouth
/// by closeness, each from where the skin around the mouth has it.
/// </summary>
internal sealed class MouthParts
{
    /// <summary>Distance at which a point's trust has dropped to half, interocular distances of the atlas: gums are thicker.</summary>
    private const double HalfTrust = 0.05;

    /// <summary>Mean trust from which on a part is taken to be modelled; a bag behind the lips has less in common with teeth.</summary>
    private const double LeastTrust = 0.5;

    /// <summary>A part that settles farther from where it was expected has slid onto something else: 20 degrees, interocular distances, logarithm of the size.</summary>
    private static readonly SettlingLimits Near = new(LeastAlignment: 0.94, FarthestPlace: 0.3, MostScaling: 0.15);

    /// <summary>The same of tongues, which differ more than rows of teeth.</summary>
    private static readonly SettlingLimits NearTongue = Near with { MostScaling = 0.35 };

    /// <summary>What is farther from where the parts are expected can't be one of them, interocular distances.</summary>
    private const float Margin = 0.3f;

    private const int MostPoints = 160;

    private static readonly (string Part, Ride Ride)[] Parts = [("teeth_upper", Ride.TeethUpper), ("teeth_lower", Ride.TeethLower), ("tongue", Ride.Tongue)];

    private readonly List<(Ride Ride, Vector3d[] Points)> _parts = [];

    /// <summary>Takes the parts of the template that was shaped after the atlas.</summary>
    public MouthParts(TemplateHead atlas)
    {
        foreach ((string part, Ride ride) in Parts)
        {
            int[] vertices = [.. Enumerable.Range(0, atlas.Mesh.FaceCount).Where(f => atlas.FaceParts[f] == part)
                .SelectMany(f => atlas.Mesh.Face(f).ToArray()).Distinct().Order()];
            int every = (vertices.Length + MostPoints - 1) / MostPoints;
            if (vertices.Length > 0)
            {
                _parts.Add((ride, [.. vertices.Where((_, i) => i % every == 0).Select(v => (Vector3d)atlas.Mesh.Positions[v])]));
            }
        }
    }

    /// <summary>Where the parts are on a head.</summary>
    /// <param name="mesh">The pieces of the head that aren't skin.</param>
    /// <param name="expected">From the atlas to that mesh, as the skin around the mouth has it.</param>
    /// <returns>From the atlas to the mesh, for parts that are found.</returns>
    public IReadOnlyDictionary<Ride, SimilarityTransform> Find(TriangleMesh mesh, Func<Ride, SimilarityTransform> expected)
    {
        var found = new Dictionary<Ride, SimilarityTransform>();
        foreach ((Ride ride, Vector3d[] points) in _parts)
        {
            SimilarityTransform start = expected(ride);
            if (Around(mesh, points, start) is { } surface
                && ClosestSimilarity.Settle(points, surface, start, HalfTrust) is { Trust: >= LeastTrust } rest
                && (ride == Ride.Tongue ? NearTongue : Near).Hold(start, rest.Similarity, Middle(points)))
            {
                found.Add(ride, rest.Similarity);
            }
        }

        return found;
    }

    private static BoundingVolumeHierarchy? Around(TriangleMesh mesh, Vector3d[] points, SimilarityTransform start)
    {
        (Vector3 low, Vector3 high) = (new(float.PositiveInfinity), new(float.NegativeInfinity));
        foreach (Vector3d p in points)
        {
            var at = (Vector3)start.Apply(p);
            (low, high) = (Vector3.Min(low, at), Vector3.Max(high, at));
        }

        (low, high) = (low - new Vector3(Margin), high + new Vector3(Margin));
        int[] near = [.. Enumerable.Range(0, mesh.TriangleCount).Where(t =>
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            Vector3 middle = (a + b + c) / 3;
            return Vector3.Clamp(middle, low, high) == middle;
        })];
        return near.Length > 0 ? new BoundingVolumeHierarchy(mesh.Subset(near)) : null;
    }

    private static Vector3d Middle(Vector3d[] points) => points.Aggregate(Vector3d.Zero, (sum, p) => sum + p) / points.Length;
}
