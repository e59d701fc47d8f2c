using System.Numerics;

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
/// Collects vertices and faces as a reader finds them and makes the scan: faces are cleaned, of those of a node in one place the first
/// is kept, coinciding vertices of a node welded, triangles paired, vertices without a face left out.
/// </summary>
internal sealed partial class ScanBuilder(MeshSource source, MeshFormat format)
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
    private int _droppedFaces, _doubledFaces;

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

        if (vertices is [int a, int b, int c] && a != b && b != c && c != a)
        {
            _corners.AddRange(vertices);
        }
        else if (vertices.Length <= SmallFace)
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
}
