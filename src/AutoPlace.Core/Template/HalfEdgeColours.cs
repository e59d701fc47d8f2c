using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Template;

/// <summary>
/// Half-edges of a mesh, and colours that tell what lies around each of them: equal where the faces around are alike,
/// walked in the same sense, however they are numbered. A mirror image has other colours unless it is its own.
/// </summary>
internal sealed class HalfEdgeColours
{
    /// <summary>So many faces away the <see cref="Near"/> colours look, counted across edges.</summary>
    public const int NearRings = 3;

    /// <summary>So many the <see cref="Far"/> colours: on the built-in head one half-edge in five has one of its own; with fewer cuts leave gaps, with more chance pairs are found on plain grids.</summary>
    public const int FarRings = 6;

    // Any odd number, and what undoes multiplying by it.
    private const ulong Base = 0x9E3779B97F4A7C15, BaseInverse = 0xF1DE83E19937733D;

    private readonly PolygonMesh _mesh;
    private readonly ulong _border;
    private readonly int[] _opposites;
    private readonly int[] _faces;
    private readonly int[] _degrees;
    private readonly bool[] _open;

    /// <summary>Colours the half-edges of a mesh, O(corners).</summary>
    /// <param name="mesh">The mesh.</param>
    /// <param name="border">Colour of where it ends: with another one no surroundings of two meshes are alike that have a border in them.</param>
    public HalfEdgeColours(PolygonMesh mesh, ulong border)
    {
        (_mesh, _border) = (mesh, border);
        ReadOnlySpan<int> corners = mesh.FaceVertices;
        _opposites = HalfEdges.Opposites(mesh.FaceStarts, corners, mesh.VertexCount);
        _faces = new int[corners.Length];
        _degrees = new int[mesh.VertexCount];
        _open = new bool[mesh.VertexCount];
        for (int f = 0; f < mesh.FaceCount; f++)
        {
            for (int last = mesh.FaceStarts[f + 1] - 1, before = last, h = mesh.FaceStarts[f]; h <= last; before = h++)
            {
                _faces[h] = f;
                _degrees[corners[h]]++;
                _open[corners[h]] |= _opposites[h] < 0 || _opposites[before] < 0;
            }
        }

        Near = Colours(First(), NearRings);
    }

    /// <summary>For each half-edge the colour of what lies close around it.</summary>
    public ulong[] Near { get; }

    /// <summary>For each half-edge the colour of what lies in a wider surrounding; computed when first asked for.</summary>
    public ulong[] Far => field ??= Colours(Near, FarRings - NearRings);

    /// <summary>The half-edge that runs the other way along the same edge, negative where there is none or more than one.</summary>
    public int Opposite(int halfEdge) => _opposites[halfEdge];

    /// <summary>The face of a half-edge.</summary>
    public int Face(int halfEdge) => _faces[halfEdge];

    /// <summary>The vertex that a half-edge starts from.</summary>
    public int Start(int halfEdge) => _mesh.FaceVertices[halfEdge];

    /// <summary>The vertex that a half-edge ends at.</summary>
    public int End(int halfEdge) => _mesh.FaceVertices[Along(halfEdge, 1)];

    /// <summary>Number of corners of a half-edge's face.</summary>
    public int Corners(int halfEdge) => _mesh.Face(_faces[halfEdge]).Length;

    /// <summary>The half-edge so many steps on round its face, fewer than the face has.</summary>
    public int Along(int halfEdge, int steps)
    {
        int next = halfEdge + steps, end = _mesh.FaceStarts[_faces[halfEdge] + 1];
        return next < end ? next : next - end + _mesh.FaceStarts[_faces[halfEdge]];
    }

    /// <summary>How many steps on round its face the first half-edge of that comes, zero for that itself.</summary>
    public int StepsToFirst(int halfEdge) => (_mesh.FaceStarts[_faces[halfEdge]] - halfEdge + Corners(halfEdge)) % Corners(halfEdge);

    /// <summary>Number of faces around a vertex; null where the skin ends at it, so that there may have been more.</summary>
    public int? Around(int vertex) => _open[vertex] ? null : _degrees[vertex];

    private ulong[] First()
    {
        ulong[] colours = new ulong[_faces.Length];
        for (int h = 0; h < colours.Length; h++)
        {
            colours[h] = BitMixing.Mixed(((ulong)Corners(h) * 31) + (Around(Start(h)) is { } around ? BitMixing.Mixed((ulong)around) : _border));
        }

        return colours;
    }

    // In each round a half-edge takes in the colours round its face and round the one across.
    private ulong[] Colours(ReadOnlySpan<ulong> from, int rounds)
    {
        ulong[] colours = from.ToArray(), round = new ulong[colours.Length];
        for (int r = 0; r < rounds; r++)
        {
            SumRound(colours, round);
            for (int h = 0; h < colours.Length; h++)
            {
                colours[h] = BitMixing.Mixed((round[h] * 31) + (_opposites[h] < 0 ? _border : round[_opposites[h]]));
            }
        }

        return colours;
    }

    // For each half-edge the colours round its face from it on, as digits of a number: the sum from the next half-edge on
    // is the last one without its first digit, which comes after the others.
    private void SumRound(ulong[] colours, ulong[] round)
    {
        ReadOnlySpan<int> starts = _mesh.FaceStarts;
        for (int f = 0; f + 1 < starts.Length; f++)
        {
            (ulong sum, ulong place) = (0, 1);
            for (int h = starts[f]; h < starts[f + 1]; h++, place *= Base)
            {
                sum += colours[h] * place;
            }

            for (int h = starts[f]; h < starts[f + 1]; h++)
            {
                round[h] = sum;
                sum = ((sum - colours[h]) + (colours[h] * place)) * BaseInverse;
            }
        }
    }
}
