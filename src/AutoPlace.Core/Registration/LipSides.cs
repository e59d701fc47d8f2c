using AutoPlace.Geometry;
using AutoPlace.Landmarks;

namespace AutoPlace.Registration;

/// <summary>
/// Which lip a point belongs to. In the atlas the mouth is closed and the lips touch: what is seen of one lip of an open
/// mouth must not be taken for the other's, and landmarks tell them apart. Sides are numbers from 1, the upper lip, to
/// -1, the lower one; 0 where nothing tells.
/// </summary>
internal sealed class LipSides
{
    /// <summary>By how much nearer, along the skin, the middle of one lip is than the other's where a point is that lip's for sure, interocular distances.</summary>
    private const double Sure = 0.1;

    /// <summary>Within the first distance of where the lips touch sides count fully, beyond the second not at all, interocular distances.</summary>
    private const double Near = 0.15, Far = 0.4;

    /// <summary>Lips that are less than the first distance apart aren't told apart, those of more than the second fully, interocular distances.</summary>
    private const double Closed = 0.04, Open = 0.12;

    /// <summary>By how much the atlas's lips are drawn apart, each, so that a smooth map can open the mouth, interocular distances: as many as the space round about bears.</summary>
    private const double Opening = 0.06;

    /// <summary>Difference of distances to both lips at which a point is taken for one of them at 0.76, interocular distances.</summary>
    private const double Softness = 0.02;

    /// <summary>Skin farther than this from the middle of a lip isn't of it, interocular distances along the skin.</summary>
    private const double Reach = 1.2;

    private static readonly string[] Middles = ["labiale_superius", "labiale_inferius"];
    private static readonly string[] Corners = ["cheilion_right", "cheilion_left"];
    private static readonly string[] Upper = ["cheilion_right", "lip_contact_upper_right", "lip_contact_upper", "lip_contact_upper_left", "cheilion_left"];
    private static readonly string[] Lower = ["cheilion_right", "lip_contact_lower_right", "lip_contact_lower", "lip_contact_lower_left", "cheilion_left"];

    private readonly double[] _ofVertex;

    /// <summary>Measures along a template's skin.</summary>
    /// <param name="skin">The template's skin.</param>
    /// <param name="landmarks">The template's landmarks.</param>
    public LipSides(TriangleMesh skin, IReadOnlyDictionary<string, Vector3d> landmarks)
    {
        _ofVertex = new double[skin.VertexCount];
        if (!Upper.Concat(Lower).Concat(Middles).All(landmarks.ContainsKey))
        {
            return;
        }

        PolygonalChain[] lines = [.. new[] { Upper, Lower }.Select(lip => new PolygonalChain([.. lip.Select(name => landmarks[name])], closed: false))];
        var paths = new EdgePaths(skin, new MeshAdjacency(skin));
        double[] upper = AlongSkin(skin, paths, landmarks[Middles[0]]), lower = AlongSkin(skin, paths, landmarks[Middles[1]]);

        // Both lips end at the corners, however high each of them is.
        double even = Corners.Select(name => NearestVertex(skin, landmarks[name])).Average(v => lower[v] - upper[v]);
        even = double.IsFinite(even) ? even : 0;
        for (int v = 0; v < _ofVertex.Length; v++)
        {
            double nearer = (lower[v] - upper[v] - even) / Sure; // infinite where one lip alone can be reached, no number where none can
            Vector3d at = skin.Positions[v];
            _ofVertex[v] = double.IsNaN(nearer) ? 0 : Math.Clamp(nearer, -1, 1) * Math.Clamp((Far - lines.Min(line => Vector3d.Distance(at, line.Nearest(at).Position))) / (Far - Near), 0, 1);
        }
    }

    /// <summary>The side of a vertex of the template's skin.</summary>
    public double this[int vertex] => _ofVertex[vertex];

    /// <summary>The side of a point of the template's skin.</summary>
    /// <param name="skin">The template's skin.</param>
    /// <param name="at">The point.</param>
    public double At(TriangleMesh skin, SurfacePoint at)
    {
        ReadOnlySpan<int> corners = skin.Indices.Slice(3 * at.Triangle, 3);
        return (_ofVertex[corners[0]] * at.Barycentric.X) + (_ofVertex[corners[1]] * at.Barycentric.Y) + (_ofVertex[corners[2]] * at.Barycentric.Z);
    }

    /// <summary>An atlas point where the lips are drawn apart.</summary>
    /// <param name="atlas">The point.</param>
    /// <param name="lip">Its side.</param>
    /// <param name="open">How far, in [0, 1].</param>
    public static Vector3d Apart(Vector3d atlas, double lip, double open) => atlas with { Y = atlas.Y + (lip * open * Opening) };

    /// <summary>How surely the mouth of a head is open, in [0, 1]; 0 where a lip wasn't seen.</summary>
    public static double OpenOf(IReadOnlyList<Landmark> landmarks)
    {
        var byName = landmarks.ToDictionary(l => l.Name, StringComparer.Ordinal);
        return Upper.Concat(Lower).All(name => byName.TryGetValue(name, out Landmark? l) && l.Source != LandmarkSource.Inferred)
            ? Math.Clamp((Upper.Zip(Lower, (u, l) => Vector3d.Distance(byName[u].Position, byName[l].Position)).Max() - Closed) / (Open - Closed), 0, 1)
            : 0;
    }

    /// <summary>The side of each correspondence on a head: of the lip whose landmarks are nearer, as far as the mouth is open.</summary>
    public static double[] On(IReadOnlyList<Correspondence> correspondences, IReadOnlyList<Landmark> landmarks)
    {
        double[] sides = new double[correspondences.Count];
        double open = OpenOf(landmarks);
        if (open > 0)
        {
            PolygonalChain upper = Line(Upper), lower = Line(Lower);
            Parallel.For(0, sides.Length, i =>
            {
                Vector3d at = correspondences[i].Head;
                double nearer = Vector3d.Distance(at, lower.Nearest(at).Position) - Vector3d.Distance(at, upper.Nearest(at).Position);
                sides[i] = open * Math.Tanh(nearer / (2 * Softness));
            });
        }

        return sides;

        PolygonalChain Line(string[] names) => new([.. names.Select(name => landmarks.First(l => l.Name == name).Position)], closed: false);
    }

    /// <summary>How much a correspondence of one side says of a point of another.</summary>
    public static double Say(double point, double correspondence) => 1 - Math.Max(0, -point * correspondence);

    private static int NearestVertex(TriangleMesh skin, Vector3d point) =>
        Enumerable.Range(0, skin.VertexCount).MinBy(v => ((Vector3d)skin.Positions[v] - point).LengthSquared);

    // Length of the shortest path along edges from the vertex nearest to a point, infinite beyond reach.
    private static double[] AlongSkin(TriangleMesh skin, EdgePaths paths, Vector3d from)
    {
        double[] length = new double[skin.VertexCount];
        Array.Fill(length, double.PositiveInfinity);
        int start = NearestVertex(skin, from);
        paths.Visit([start], skin.Positions[start], Reach, (vertex, along) => length[vertex] = along);
        return length;
    }
}
