using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Heads.Modelled;

/// <summary>
/// A plan of four-sided patches between named corners. Opposite sides of a patch have the same number of quads, so a
/// number given for one side runs through the plan as an edge loop does. Corners are listed counter-clockwise as seen
/// from outside. Only the midline and the left half are planned.
/// </summary>
internal sealed class QuadLayout
{
    private readonly Dictionary<string, (Vector3d Position, bool Pinned)> _corners = new(StringComparer.Ordinal);
    private readonly Dictionary<(string, string), int> _counts = [];
    private readonly Dictionary<(string, string), (Func<double, Vector3d> Curve, bool Pinned)> _curves = [];
    private readonly List<(string Part, string[] Corners)> _patches = [];

    /// <summary>Adds a corner; x = 0 puts it on the midline. A pinned one doesn't move in the fitting.</summary>
    public void Corner(string name, Vector3d position, bool pinned = false) => _corners.Add(name, (position, pinned));

    /// <summary>Position of a corner.</summary>
    public Vector3d this[string corner] => _corners[corner].Position;

    /// <summary>Gives a side its number of quads.</summary>
    public void Count(string a, string b, int quads)
    {
        _counts[(a, b)] = quads;
        _counts[(b, a)] = quads;
    }

    /// <summary>Gives a side its course, from 0 at <paramref name="a"/> to 1 at <paramref name="b"/>; others are straight.</summary>
    public void Curve(string a, string b, Func<double, Vector3d> curve, bool pinned = true)
    {
        _curves[(a, b)] = (curve, pinned);
        _curves[(b, a)] = (t => curve(1 - t), pinned);
    }

    /// <summary>Adds a patch.</summary>
    public void Patch(string part, string a, string b, string c, string d) => _patches.Add((part, [a, b, c, d]));

    /// <summary>
    /// Adds the patches between two rings whose corners have the names <c>outer + key</c> and <c>inner + key</c>; keys
    /// run counter-clockwise. <paramref name="radial"/> quads lie between the rings.
    /// </summary>
    public void Rings(string part, string outer, string inner, IReadOnlyList<string> keys, bool closed, int radial)
    {
        for (int i = 0; i + (closed ? 0 : 1) < keys.Count; i++)
        {
            string a = keys[i], b = keys[(i + 1) % keys.Count];
            Patch(part, outer + a, outer + b, inner + b, inner + a);
            Count(outer + a, inner + a, radial);
            Count(outer + b, inner + b, radial);
        }
    }

    /// <summary>Makes the quads.</summary>
    /// <exception cref="InvalidOperationException">A side has no number of quads or two, or a patch is turned over.</exception>
    public HalfHead Build()
    {
        Propagate();
        var head = new HalfHead();
        var corners = new Dictionary<string, int>(StringComparer.Ordinal);
        foreach ((string part, string[] names) in _patches)
        {
            Fill(head, corners, part, names);
        }

        head.CheckOrientation();
        return head;
    }

    private void Propagate()
    {
        for (bool changed = true; changed;)
        {
            changed = false;
            foreach ((_, string[] c) in _patches)
            {
                changed |= Match(c[0], c[1], c[3], c[2]) | Match(c[1], c[2], c[0], c[3]);
            }
        }

        bool Match(string a, string b, string c, string d)
        {
            bool first = _counts.TryGetValue((a, b), out int ab), second = _counts.TryGetValue((c, d), out int cd);
            if (first && second && ab != cd)
            {
                throw new InvalidOperationException($"{a}-{b} has {ab} quads, {c}-{d} {cd}.");
            }

            if (first != second)
            {
                Count(first ? c : a, first ? d : b, first ? ab : cd);
            }

            return first != second;
        }
    }

    private void Fill(HalfHead head, Dictionary<string, int> corners, string part, string[] c)
    {
        int[] bottom = Side(c[0], c[1]), right = Side(c[1], c[2]), top = Side(c[3], c[2]), left = Side(c[0], c[3]);
        int columns = bottom.Length - 1, rows = left.Length - 1;
        int[,] grid = new int[columns + 1, rows + 1];
        for (int i = 0; i <= columns; i++)
        {
            (grid[i, 0], grid[i, rows]) = (bottom[i], top[i]);
        }

        for (int j = 0; j <= rows; j++)
        {
            (grid[0, j], grid[columns, j]) = (left[j], right[j]);
        }

        for (int i = 1; i < columns; i++)
        {
            for (int j = 1; j < rows; j++)
            {
                grid[i, j] = head.AddVertex(Transfinite((double)i / columns, (double)j / rows, i, j), pinned: false);
            }
        }

        for (int i = 0; i < columns; i++)
        {
            for (int j = 0; j < rows; j++)
            {
                head.AddFace(part, grid[i, j], grid[i + 1, j], grid[i + 1, j + 1], grid[i, j + 1]);
            }
        }

        // Coons 1967: the two ruled surfaces less the bilinear one.
        Vector3d Transfinite(double u, double v, int i, int j)
        {
            Vector3d P(int vertex) => head.Positions[vertex];
            Vector3d ruled = Vector3d.Lerp(P(bottom[i]), P(top[i]), v) + Vector3d.Lerp(P(left[j]), P(right[j]), u);
            Vector3d bilinear = Vector3d.Lerp(Vector3d.Lerp(P(bottom[0]), P(bottom[^1]), u), Vector3d.Lerp(P(top[0]), P(top[^1]), u), v);
            return ruled - bilinear;
        }

        int[] Side(string a, string b)
        {
            if (head.TryGetLine(a, b, out int[]? known))
            {
                return known;
            }

            if (!_counts.TryGetValue((a, b), out int quads))
            {
                throw new InvalidOperationException($"{a}-{b} has no number of quads.");
            }

            int[] line = new int[quads + 1];
            (line[0], line[quads]) = (CornerVertex(a), CornerVertex(b));
            bool curved = _curves.TryGetValue((a, b), out (Func<double, Vector3d> Curve, bool Pinned) course);
            for (int i = 1; i < quads; i++)
            {
                double t = (double)i / quads;
                Vector3d straight = Vector3d.Lerp(_corners[a].Position, _corners[b].Position, t);
                line[i] = head.AddVertex(curved ? course.Curve(t) : straight, curved && course.Pinned);
            }

            head.AddLine(a, b, line);
            return line;
        }

        int CornerVertex(string name)
        {
            if (!corners.TryGetValue(name, out int vertex))
            {
                (Vector3d position, bool pinned) = _corners.TryGetValue(name, out var known) ? known : throw new InvalidOperationException($"No corner '{name}'.");
                vertex = head.AddVertex(position, pinned);
                corners.Add(name, vertex);
            }

            return vertex;
        }
    }
}
