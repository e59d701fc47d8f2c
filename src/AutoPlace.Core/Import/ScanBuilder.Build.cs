using System.Numerics;
using System.Runtime.InteropServices;
using AutoPlace.Geometry;

namespace AutoPlace.Import;

/// <content>What happens once all faces are there.</content>
internal sealed partial class ScanBuilder
{
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
            DropDoubledFaces();
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
            DoubledFaces = _doubledFaces,
        };
    }

    // Before welding, which would hang both sides of a sheet together at its vertices.
    private void DropDoubledFaces()
    {
        int[] nodes = [.. _faceParts.Select(part => _parts[part].NodeKey)];
        bool[] isDouble = DoubledFaces.Find(
            CollectionsMarshal.AsSpan(_positions), CollectionsMarshal.AsSpan(_faceStarts), CollectionsMarshal.AsSpan(_corners), nodes, out _doubledFaces);
        if (_doubledFaces > 0)
        {
            CleanFaces(f => !isDouble[f]);
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
            CleanFaces(_ => true);
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

    private void CleanFaces(Func<int, bool> isKept)
    {
        int[] corners = [.. _corners];
        int[] starts = [.. _faceStarts];
        int[] parts = [.. _faceParts];
        ClearFaces();
        for (int f = 0; f < parts.Length; f++)
        {
            if (isKept(f))
            {
                AddFace(corners.AsSpan(starts[f]..starts[f + 1]), parts[f]);
            }
        }
    }

    private void ClearFaces()
    {
        _corners.Clear();
        _faceParts.Clear();
        _faceStarts.Clear();
        _faceStarts.Add(0);
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
        ClearFaces();
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
