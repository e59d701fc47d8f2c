using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast.Remeshing;

/// <summary>
/// Even triangles in place of any others: long edges are split, short ones contracted, edges turned towards six at a
/// vertex, vertices spread along the surface, round after round (Botsch and Kobbelt 2004, "A remeshing approach to
/// multiresolution modeling", section 4), with a length of edge that may differ from place to place.
/// </summary>
internal sealed class IsotropicRemesh
{
    private const int Rounds = 6;
    private const int RegularValence = 6;

    // Of the length wished for (Botsch and Kobbelt): longer edges are split, shorter ones contracted.
    private const double Longest = 4.0 / 3;
    private const double Shortest = 4.0 / 5;

    // Cosine between the normals of a triangle before and after a change, at least: nothing folds over.
    private const double LeastAgreement = 0.3;

    private readonly EditableTriangles _mesh;
    private readonly SmoothSurface _surface;
    private readonly Func<Vector3d, double> _edgeLength;

    private IsotropicRemesh(EditableTriangles mesh, SmoothSurface surface, Func<Vector3d, double> edgeLength)
    {
        _mesh = mesh;
        _surface = surface;
        _edgeLength = edgeLength;
    }

    /// <summary>Remeshes a surface.</summary>
    /// <param name="mesh">The surface.</param>
    /// <param name="parts">Part of each triangle; lines between parts and borders are kept as lines.</param>
    /// <param name="edgeLength">Length of edge wished for at a point.</param>
    public static (Vector3d[] Points, List<(string Part, int[] Corners)> Triangles) Run(
        TriangleMesh mesh, IReadOnlyList<string> parts, Func<Vector3d, double> edgeLength)
    {
        var remesh = new IsotropicRemesh(new EditableTriangles(mesh, parts), new SmoothSurface(mesh), edgeLength);
        for (int round = 0; round < Rounds; round++)
        {
            remesh.SplitLongEdges();
            remesh.ContractShortEdges();
            remesh.EvenOutValences();
            remesh.Spread();
        }

        return remesh._mesh.Result();
    }

    private double Relative(int a, int b) =>
        Vector3d.Distance(_mesh[a], _mesh[b]) / _edgeLength((_mesh[a] + _mesh[b]) * 0.5);

    private void SplitLongEdges()
    {
        for (int pass = 0; pass < 6; pass++)
        {
            List<(int A, int B)> edges = _mesh.Edges().FindAll(edge => Relative(edge.A, edge.B) > Longest);
            if (edges.Count == 0)
            {
                return;
            }

            // The longest first, or slivers would be split on and on.
            foreach ((int a, int b) in edges.OrderByDescending(edge => Vector3d.Distance(_mesh[edge.A], _mesh[edge.B])))
            {
                _mesh.Split(a, b, (_mesh[a] + _mesh[b]) * 0.5);
            }
        }
    }

    private void ContractShortEdges()
    {
        foreach ((int a, int b) in _mesh.Edges().OrderBy(edge => Relative(edge.A, edge.B)).ToList())
        {
            if (_mesh.IsUsed(a) && _mesh.IsUsed(b) && _mesh.Sides(a, b).Count > 0 && Relative(a, b) < Shortest)
            {
                TryContract(a, b);
            }
        }
    }

    private void TryContract(int a, int b)
    {
        int onA = _mesh.CreaseCount(a), onB = _mesh.CreaseCount(b);
        bool along = _mesh.IsCrease(a, b);
        if (onA > 0 && onB > 0 && (!along || (onA != 2 && onB != 2)))
        {
            return;
        }

        // A vertex on a crease stays where it is; the one within the surface goes.
        (int keep, int gone) = onB > 0 && (onA == 0 || (along && onB != 2)) ? (b, a) : (a, b);
        Vector3d at = _mesh[keep];
        if (onA == 0 && onB == 0)
        {
            Vector3d middle = (_mesh[a] + _mesh[b]) * 0.5;
            at = _surface.Near(middle, (_mesh.Normal(a) + _mesh.Normal(b)).Normalized()) ?? middle;
        }

        List<int> others = _mesh.Neighbours(gone);
        if (_mesh.Neighbours(keep).Intersect(others).Count() != _mesh.Sides(a, b).Count
            || others.Exists(v => v != keep && Vector3d.Distance(at, _mesh[v]) > Longest * _edgeLength((at + _mesh[v]) * 0.5))
            || Folds(keep, gone, at) || Folds(gone, keep, at))
        {
            return;
        }

        _mesh.Collapse(keep, gone, at);
    }

    private bool Folds(int vertex, int partner, Vector3d to)
    {
        foreach (int t in _mesh.Around(vertex))
        {
            if (Array.IndexOf(_mesh.Triangle(t), partner) < 0 && !Agree(_mesh.Area(t), _mesh.Area(t, vertex, to)))
            {
                return true;
            }
        }

        return false;
    }

    private static bool Agree(Vector3d before, Vector3d after) =>
        Vector3d.Dot(before, after) > LeastAgreement * before.Length * after.Length && after.Length > 1e-3 * before.Length;

    private void EvenOutValences()
    {
        foreach ((int a, int b) in _mesh.Edges())
        {
            List<int> sides = _mesh.Sides(a, b);
            if (sides.Count != 2 || _mesh.IsCrease(a, b))
            {
                continue;
            }

            int c = _mesh.Opposite(sides[0], a, b), d = _mesh.Opposite(sides[1], a, b);
            int before = Excess(a, 0) + Excess(b, 0) + Excess(c, 0) + Excess(d, 0);
            int after = Excess(a, -1) + Excess(b, -1) + Excess(c, 1) + Excess(d, 1);
            if (after < before && _mesh.Sides(c, d).Count == 0 && StaysFlat(sides, a, b, c, d))
            {
                _mesh.Turn(a, b);
            }
        }

        // Six edges within a surface, four at a line.
        int Excess(int v, int added)
        {
            int wished = _mesh.CreaseCount(v) > 0 ? RegularValence - 2 : RegularValence;
            int off = _mesh.Neighbours(v).Count + added - wished;
            return off * off;
        }
    }

    // Neither a ridge may be turned away nor a triangle turned over.
    private bool StaysFlat(List<int> sides, int a, int b, int c, int d)
    {
        const double LeastFlatness = 0.8;
        Vector3d first = _mesh.Area(sides[0]), second = _mesh.Area(sides[1]);
        return Vector3d.Dot(first, second) > LeastFlatness * first.Length * second.Length
            && Agree(first + second, _mesh.Area(sides[0], b, _mesh[d])) && Agree(first + second, _mesh.Area(sides[1], a, _mesh[c]));
    }

    private void Spread()
    {
        for (int v = 0; v < _mesh.PointCount; v++)
        {
            if (!_mesh.IsUsed(v) || _mesh.CreaseCount(v) > 0)
            {
                continue;
            }

            List<int> neighbours = _mesh.Neighbours(v);
            Vector3d centre = Vector3d.Zero;
            foreach (int other in neighbours)
            {
                centre += _mesh[other] / neighbours.Count;
            }

            Vector3d normal = _mesh.Normal(v);
            Vector3d aim = centre + (normal * Vector3d.Dot(normal, _mesh[v] - centre));
            if (_surface.Near(aim, normal) is { } on && _mesh.Around(v).TrueForAll(t => Agree(_mesh.Area(t), _mesh.Area(t, v, on))))
            {
                _mesh[v] = on;
            }
        }
    }
}
