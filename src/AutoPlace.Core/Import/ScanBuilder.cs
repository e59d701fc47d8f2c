using System.Numerics;
using System.Runtime.InteropServices;
using AutoPlace.Geometry;

namespace AutoPlace.Import;

/// <summary>Which vertices that lie at exactly the same place become one.</summary>
internal enum Welding
{
    /// <summary>
    /// Those on open borders, for formats whose faces share vertices: seams of texture coordinates close, while
    /// surfaces that only touch (closed lips) stay apart.
    /// </summary>
    Borders,

    /// <summary>All, for formats that split vertices by their nature.</summary>
    All,
}

/// <summary>When triangles are paired back to quads.</summary>
internal enum Pairing
{
    /// <summary>Always.</summary>
    Always,

    /// <summary>If there are only triangles and their order proves that they were quads.</summary>
    IfProven,
}

/// <summary>
/// Collects vertices and faces as a reader finds them and makes the scan: faces are cleaned, coinciding vertices of a
/// node welded, triangles paired, vertices without a face left out.
/// </summary>
internal sealed class ScanBuilder(MeshSource source, MeshFormat format)
{
    /// <summary>Most vertices a file may have.</summary>
    public const int MaximumVertices = 1 << 25;

    /// <summary>Most corners of all faces together.</summary>
    public const int MaximumCorners = 1 << 27;

    private const int SmallFace = 32;

    private readonly List<Vector3> _positions = [];
    private readonly List<int> _corners = [];
    private readonly List<int> _faceStarts = [0];
    private readonly List<int> _faceParts = [];
    private readonly List<(string Node, string? Material, int NodeKey)> _parts = [];
    private readonly Dictionary<(int NodeKey, string? Material), int> _partIndices = [];
    private int _droppedFaces;

    /// <summary>Number of vertices so far.</summary>
    public int VertexCount => _positions.Count;

    /// <summary>Number of faces so far, without dropped ones.</summary>
    public int FaceCount => _faceParts.Count;

    /// <summary>Makes room where a count is backed by the bytes that are there.</summary>
    public void Reserve(long vertices, long faces, long corners)
    {
        CheckLimits(_positions.Count + vertices, _corners.Count + corners);
        _positions.EnsureCapacity(_positions.Count + (int)vertices);
        _corners.EnsureCapacity(_corners.Count + (int)corners);
        _faceStarts.EnsureCapacity(_faceStarts.Count + (int)faces);
        _faceParts.EnsureCapacity(_faceParts.Count + (int)faces);
    }

    /// <summary>The part of a node (or object) and material, made when first asked for.</summary>
    /// <param name="nodeKey">Tells nodes apart, also those of the same name.</param>
    /// <param name="name">Name of the node; may be empty or taken.</param>
    /// <param name="material">Material, or null.</param>
    public int Part(int nodeKey, string name, string? material)
    {
        if (!_partIndices.TryGetValue((nodeKey, material), out int part))
        {
            part = _parts.Count;
            _parts.Add((name, material, nodeKey));
            _partIndices.Add((nodeKey, material), part);
        }

        return part;
    }

    /// <summary>Adds a vertex.</summary>
    /// <returns>False when it isn't finite; then nothing is added.</returns>
    public bool TryAddVertex(Vector3 position)
    {
        if (!float.IsFinite(position.X) || !float.IsFinite(position.Y) || !float.IsFinite(position.Z))
        {
            return false;
        }

        if (_positions.Count == MaximumVertices)
        {
            CheckLimits(MaximumVertices + 1L, 0);
        }

        _positions.Add(position);
        return true;
    }

    /// <summary>
    /// Adds a face. Repeated vertices are left out; what has fewer than three then is dropped and counted. The reader
    /// sees to it that indices are in range.
    /// </summary>
    public void AddFace(ReadOnlySpan<int> vertices, int part)
    {
        int start = _corners.Count;
        if (start > MaximumCorners - vertices.Length)
        {
            CheckLimits(0, start + (long)vertices.Length);
        }

        if (vertices.Length <= SmallFace)
        {
            AddDistinct(vertices);
        }
        else
        {
            var seen = new HashSet<int>(vertices.Length);
            foreach (int v in vertices)
            {
                if (seen.Add(v))
                {
                    _corners.Add(v);
                }
            }
        }

        if (_corners.Count - start < 3)
        {
            _corners.RemoveRange(start, _corners.Count - start);
            _droppedFaces++;
            return;
        }

        _faceStarts.Add(_corners.Count);
        _faceParts.Add(part);
    }

    /// <summary>Makes the scan.</summary>
    /// <exception cref="MeshFormatException">There is no face.</exception>
    public HeadScan Build(Welding welding, Pairing pairing)
    {
        bool authored = source.Options.AsAuthored;
        if (FaceCount == 0)
        {
            throw source.Fault(null, _droppedFaces == 0 ? "no faces" : $"no faces but {_droppedFaces} degenerate ones");
        }

        if (!authored)
        {
            Weld(welding);
            Pair(pairing);
        }

        Vector3[] positions = authored ? [.. _positions] : UsedPositions();
        return new HeadScan
        {
            Source = Path.GetFileName(source.Name),
            Sha256 = source.Sha256,
            Format = format,
            MetresPerUnit = format == MeshFormat.Gltf ? 1 : null,
            Mesh = new PolygonMesh(positions, [.. _faceStarts], [.. _corners]),
            Parts = UsedParts(),
            FaceParts = _faceParts.ToArray(),
            DroppedFaces = _droppedFaces,
        };
    }

    private void AddDistinct(ReadOnlySpan<int> vertices)
    {
        for (int i = 0; i < vertices.Length; i++)
        {
            if (!vertices[..i].Contains(vertices[i]))
            {
                _corners.Add(vertices[i]);
            }
        }
    }

    private void CheckLimits(long vertices, long corners)
    {
        if (vertices > MaximumVertices)
        {
            throw source.Fault(null, $"more than {MaximumVertices} vertices");
        }

        if (corners > MaximumCorners)
        {
            throw source.Fault(null, $"more than {MaximumCorners} face corners");
        }
    }

    private void Weld(Welding welding)
    {
        ReadOnlySpan<Vector3> positions = CollectionsMarshal.AsSpan(_positions);
        int[] first = new int[positions.Length];
        if (VertexWelding.FirstOfEach(positions, VertexNodes(), first) == first.Length)
        {
            return;
        }

        if (welding == Welding.Borders)
        {
            KeepInnerVertices(first);
        }

        Span<int> corners = CollectionsMarshal.AsSpan(_corners);
        bool changed = false;
        for (int c = 0; c < corners.Length; c++)
        {
            changed |= first[corners[c]] != corners[c];
            corners[c] = first[corners[c]];
        }

        if (changed)
        {
            CleanFaces();
        }

        if (FaceCount == 0)
        {
            throw source.Fault(null, $"no faces but {_droppedFaces} degenerate ones");
        }
    }

    /// <summary>For each vertex the node of the first face that has it; empty when there is one node.</summary>
    private int[] VertexNodes()
    {
        int firstNode = _parts[0].NodeKey;
        if (_parts.TrueForAll(p => p.NodeKey == firstNode))
        {
            return [];
        }

        int[] nodes = new int[_positions.Count];
        for (int f = FaceCount - 1; f >= 0; f--)
        {
            int node = _parts[_faceParts[f]].NodeKey;
            for (int c = _faceStarts[f]; c < _faceStarts[f + 1]; c++)
            {
                nodes[_corners[c]] = node;
            }
        }

        return nodes;
    }

    /// <summary>Undoes the twins of vertices that aren't on an open border.</summary>
    private void KeepInnerVertices(int[] first)
    {
        ReadOnlySpan<int> corners = CollectionsMarshal.AsSpan(_corners);
        ReadOnlySpan<int> starts = CollectionsMarshal.AsSpan(_faceStarts);
        int[] opposites = HalfEdges.Opposites(starts, corners, first.Length);
        bool[] border = new bool[first.Length];
        for (int f = 0; f < FaceCount; f++)
        {
            for (int c = starts[f]; c < starts[f + 1]; c++)
            {
                if (opposites[c] == HalfEdges.Border)
                {
                    border[corners[c]] = true;
                    border[corners[c + 1 == starts[f + 1] ? starts[f] : c + 1]] = true;
                }
            }
        }

        // The first twin may lie inside a surface; then the first one on a border takes its place.
        int[] firstOnBorder = new int[first.Length];
        Array.Fill(firstOnBorder, -1);
        for (int v = 0; v < first.Length; v++)
        {
            int twin = first[v];
            first[v] = v;
            if (border[v])
            {
                firstOnBorder[twin] = firstOnBorder[twin] < 0 ? v : firstOnBorder[twin];
                first[v] = firstOnBorder[twin];
            }
        }
    }

    private void CleanFaces()
    {
        int[] corners = [.. _corners];
        int[] starts = [.. _faceStarts];
        int[] parts = [.. _faceParts];
        _corners.Clear();
        _faceParts.Clear();
        _faceStarts.Clear();
        _faceStarts.Add(0);
        for (int f = 0; f < parts.Length; f++)
        {
            AddFace(corners.AsSpan(starts[f]..starts[f + 1]), parts[f]);
        }
    }

    private void Pair(Pairing pairing)
    {
        if (_corners.Count != 3 * FaceCount)
        {
            return;
        }

        int[] triangles = [.. _corners];
        int[] parts = [.. _faceParts];
        int[] partners = TrianglePairing.Pair(
            CollectionsMarshal.AsSpan(_positions), triangles, parts, pairing == Pairing.IfProven);
        _corners.Clear();
        _faceParts.Clear();
        _faceStarts.Clear();
        _faceStarts.Add(0);
        Span<int> quad = stackalloc int[4];
        for (int t = 0; t < parts.Length; t++)
        {
            if (partners[t] == TrianglePairing.Alone)
            {
                _corners.AddRange(triangles.AsSpan(3 * t, 3));
            }
            else if (partners[t] > t)
            {
                TrianglePairing.Quad(triangles, t, partners[t], quad);
                _corners.AddRange(quad);
            }
            else
            {
                continue;
            }

            _faceStarts.Add(_corners.Count);
            _faceParts.Add(parts[t]);
        }
    }

    /// <summary>Positions of vertices that faces use, in their order; corners are renumbered.</summary>
    private Vector3[] UsedPositions()
    {
        Span<int> corners = CollectionsMarshal.AsSpan(_corners);
        int[] renumbered = new int[_positions.Count];
        foreach (int v in corners)
        {
            renumbered[v] = 1;
        }

        int count = 0;
        for (int v = 0; v < renumbered.Length; v++)
        {
            renumbered[v] = renumbered[v] == 0 ? -1 : count++;
        }

        var positions = new Vector3[count];
        for (int v = 0; v < renumbered.Length; v++)
        {
            if (renumbered[v] >= 0)
            {
                positions[renumbered[v]] = _positions[v];
            }
        }

        foreach (ref int v in corners)
        {
            v = renumbered[v];
        }

        return positions;
    }

    /// <summary>Parts that have faces; face parts are renumbered. A name that is taken gets a number.</summary>
    private MeshPart[] UsedParts()
    {
        int[] renumbered = new int[_parts.Count];
        foreach (int part in _faceParts)
        {
            renumbered[part] = 1;
        }

        var nextNumbers = new Dictionary<string, int>(StringComparer.Ordinal);
        var used = new List<MeshPart>();
        for (int part = 0; part < renumbered.Length; part++)
        {
            if (renumbered[part] == 0)
            {
                continue;
            }

            renumbered[part] = used.Count;
            string wanted = string.IsNullOrWhiteSpace(_parts[part].Node) ? "mesh" : _parts[part].Node.Trim();
            used.Add(new MeshPart(Unique(wanted, nextNumbers), _parts[part].Material));
        }

        foreach (ref int part in CollectionsMarshal.AsSpan(_faceParts))
        {
            part = renumbered[part];
        }

        return [.. used];
    }

    /// <summary>The name, or the name with the next free number if it's taken.</summary>
    private static string Unique(string wanted, Dictionary<string, int> nextNumbers)
    {
        int number = nextNumbers.GetValueOrDefault(wanted, 1);
        string name = number == 1 ? wanted : $"{wanted}_{number}";
        while (number > 1 && nextNumbers.ContainsKey(name))
        {
            number++;
            name = $"{wanted}_{number}";
        }

        nextNumbers[wanted] = number + 1;
        nextNumbers.TryAdd(name, 2);
        return name;
    }
}
