using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Registration;

/// <summary>A closed line of edges in the skin of a head that is in sight: an edge loop, or the border of an opening.</summary>
internal sealed class SkinLoop
{
    /// <summary>What counts as much as each other: so far away, interocular distances, and a normal turned by so much (the chord of the angle, half a radian).</summary>
    private const double Away = 0.02, Turned = 0.5;

    /// <summary>What is farther from what was expected, in the two together, squared, isn't it at all.</summary>
    private const double Elsewhere = 16;

    /// <summary>Two sides of a loop that are this far from each other along it, as a share of its length, lie opposite.</summary>
    private const double Opposite = 0.1;

    /// <summary>How well an opening's height is known: so many interocular distances, and this share of it.</summary>
    private const double GapError = 0.012, GapShare = 0.15;

    /// <summary>A loop this many times as long or as short as expected is another, and so is one whose middle is so far from the expected one, interocular distances.</summary>
    private const double Longer = 1.6, MiddleAway = 0.12;

    /// <summary>A loop has at least this share of its vertices in sight.</summary>
    private const double LeastInSight = 0.75;

    /// <summary>A turn of the surface at a loop is as expected to within so much, radians; one quite unlike it counts so much and no more.</summary>
    private const double TurnError = 0.5, MostForTurn = 6;

    private readonly Vector3d[] _normals;
    private readonly double? _turn;

    private SkinLoop(Vector3d[] points, Vector3d[] normals, double? turn)
    {
        Line = new PolygonalChain(points, closed: true);
        (_normals, _turn) = (normals, turn);
    }

    /// <summary>The line, head frame, interocular distances.</summary>
    public PolygonalChain Line { get; }

    /// <summary>The loops near some points.</summary>
    /// <param name="polygons">The scan's polygons.</param>
    /// <param name="skin">The head's skin, over the same vertices.</param>
    /// <param name="curves">Curves to look near, head frame.</param>
    /// <param name="reach">How far from each curve's box to look, interocular distances.</param>
    public static IReadOnlyList<SkinLoop> Near(PolygonMesh polygons, SkinSurface skin, IReadOnlyList<PolygonalChain> curves, double reach)
    {
        TriangleMesh mesh = skin.Mesh;
        bool[] within = new bool[polygons.VertexCount], inSight = new bool[within.Length];
        foreach (PolygonalChain curve in curves)
        {
            Vector3 low = new(float.PositiveInfinity), high = new(float.NegativeInfinity), around = new((float)reach);
            foreach (Vector3d point in curve.Points)
            {
                (low, high) = (Vector3.Min(low, (Vector3)point - around), Vector3.Max(high, (Vector3)point + around));
            }

            for (int v = 0; v < within.Length; v++)
            {
                within[v] |= Vector3.Clamp(mesh.Positions[v], low, high) == mesh.Positions[v];
            }
        }

        foreach (int v in mesh.Indices)
        {
            inSight[v] = true;
        }

        return [.. ClosedEdgeLoops.In(polygons, within)
            .Where(loop => loop.Vertices.Count(v => inSight[v]) >= LeastInSight * loop.Vertices.Length)
            .Select(loop => new SkinLoop(
                [.. loop.Vertices.Select(v => (Vector3d)mesh.Positions[v])],
                [.. loop.Vertices.Select(v => (Vector3d)skin.VertexNormals[v])],
                loop.Turn(polygons, mesh.Positions, skin.VertexNormals)))];
    }

    /// <summary>How unlike this loop is to an expected one: mean squared, 1 for the distance or the turn that is usual. Infinite without any likeness.</summary>
    /// <param name="expected">The expected loop.</param>
    /// <param name="normals">Unit normals at its points.</param>
    /// <param name="gap">Height of what it opens, <see cref="GapOf"/>.</param>
    /// <param name="turn">By how much the surface turns over there, radians; null when that isn't known.</param>
    public double Unlikeness(PolygonalChain expected, Vector3d[] normals, double gap, double? turn)
    {
        double ratio = Line.Length / expected.Length;
        if (Math.Max(ratio, 1 / ratio) > Longer || Vector3d.Distance(Line.Middle, expected.Middle) > MiddleAway)
        {
            return double.PositiveInfinity;
        }

        double sum = 0;
        ReadOnlySpan<Vector3d> points = expected.Points;
        for (int i = 0; i < points.Length; i++)
        {
            sum += Math.Min(Elsewhere, Misfit(Nearest(points[i], normals[i]), points[i], normals[i]));
        }

        double opens = (GapOf(Line) - gap) / (GapError + (GapShare * gap));
        double turned = (_turn - turn) / TurnError ?? 0;
        return (sum / points.Length) + (opens * opens) + (MostForTurn * turned * turned / (1 + (turned * turned)));
    }

    /// <summary>The place of the loop that belongs to a point: near, and with skin that faces as expected, so that the opposite lip doesn't count.</summary>
    public LinePlace Nearest(Vector3d point, Vector3d normal) =>
        Line.Best(point, (edge, t) => (NormalAt(edge, t) - normal).LengthSquared * (Away * Away / (Turned * Turned)));

    /// <summary>The skin's unit normal at a place of the loop.</summary>
    public Vector3d NormalAt(int edge, double t) => Vector3d.Lerp(_normals[edge], _normals[(edge + 1) % _normals.Length], t).Normalized();

    /// <summary>The height of what a loop opens: the distance from a place of it to the side opposite, greater for three quarters of its length.</summary>
    public static double GapOf(PolygonalChain line)
    {
        var gaps = new (double Height, double Length)[line.Points.Length];
        for (int i = 0; i < gaps.Length; i++)
        {
            LinePlace middle = line.At((line.AlongOf(i, 0) + line.AlongOf(i, 1)) / 2);
            LinePlace across = line.Best(middle.Position, (edge, t) => Apart(middle.Along, line.AlongOf(edge, t)) < Opposite * line.Length ? double.MaxValue : 0);
            gaps[i] = (Vector3d.Distance(middle.Position, across.Position), middle.EdgeLength);
        }

        Array.Sort(gaps);
        double length = 0;
        return gaps.First(gap => (length += gap.Length) >= line.Length / 4).Height;

        double Apart(double a, double b) => Math.Min(Math.Abs(a - b), line.Length - Math.Abs(a - b));
    }

    /// <summary>How far a place is from belonging to a point, squared, in usual distances and turns.</summary>
    public double Misfit(LinePlace place, Vector3d point, Vector3d normal) =>
        ((point - place.Position).LengthSquared / (Away * Away))
        + ((normal - NormalAt(place.Edge, place.Fraction)).LengthSquared / (Turned * Turned));
}
