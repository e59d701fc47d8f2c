using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>
/// Which way the triangles of a mesh wind. Those of one piece, which hangs together by its vertices, wind alike; hair or a visor may be
/// inside out where the face isn't. A piece is inside out when its triangles face its own middle. Flat pieces, as of hair, follow most
/// of the area, and a small one within a large one follows that: it may line a mouth or a socket, which rightly faces its own middle.
/// </summary>
internal static class MeshOrientation
{
    /// <summary>Mean cosine, by area and distance, of the angle between normals and the directions from a piece's middle below which it is flat.</summary>
    private const double Flat = 0.2;

    /// <summary>A piece of at most this share of the area of another, within the box of that, may line it (own choice: a mouth with its throat has a seventh).</summary>
    private const double Lining = 0.25;

    /// <summary>For each triangle whether it is counter-clockwise seen from outside. Nearly linear in the triangles, quadratic in the pieces that face their own middle.</summary>
    /// <param name="mesh">The triangles; the surface may have holes.</param>
    internal static bool[] OutwardOf(TriangleMesh mesh)
    {
        Piece[] pieceOf = PiecesOf(mesh);
        for (int t = 0; t < pieceOf.Length; t++)
        {
            pieceOf[t].Measure(mesh.Corners(t));
        }

        for (int t = 0; t < pieceOf.Length; t++)
        {
            pieceOf[t].Judge(mesh.Corners(t));
        }

        Piece[] pieces = [.. pieceOf.Distinct().OrderBy(piece => piece.Area)];
        bool most = pieces.Sum(piece => piece.Sign * piece.Area) >= 0;
        return [.. pieceOf.Select(piece => SignOf(piece) is var sign && sign == 0 ? most : sign > 0)];

        int SignOf(Piece piece) => piece.Followed ??= piece.Sign < 0 && Array.Find(pieces, piece.MayLine) is { } around ? SignOf(around) : piece.Sign;
    }

    private static Piece[] PiecesOf(TriangleMesh mesh)
    {
        var vertices = new DisjointSets(mesh.VertexCount);
        ReadOnlySpan<int> indices = mesh.Indices;
        for (int i = 0; i < indices.Length; i += 3)
        {
            vertices.Unite(indices[i], indices[i + 1]);
            vertices.Unite(indices[i], indices[i + 2]);
        }

        var byVertex = new Piece?[mesh.VertexCount];
        var pieces = new Piece[mesh.TriangleCount];
        for (int t = 0; t < pieces.Length; t++)
        {
            pieces[t] = byVertex[vertices.Least(indices[3 * t])] ??= new Piece();
        }

        return pieces;
    }

    private sealed class Piece
    {
        private Vector3d _moment;
        private double _outward, _atMost;
        private Vector3 _low = new(float.PositiveInfinity), _high = new(float.NegativeInfinity);

        /// <summary>Twice its area.</summary>
        public double Area { get; private set; }

        /// <summary>1 where it faces away from its own middle, -1 where it faces that, 0 where it is flat.</summary>
        public int Sign => Math.Abs(_outward) < Flat * _atMost ? 0 : Math.Sign(_outward);

        /// <summary>The sign that it goes by, once known.</summary>
        public int? Followed { get; set; }

        /// <summary>Adds a triangle to area, middle and box.</summary>
        public void Measure((Vector3 A, Vector3 B, Vector3 C) corners)
        {
            (Vector3 a, Vector3 b, Vector3 c) = corners;
            double area = Vector3.Cross(b - a, c - a).Length();
            Area += area;
            _moment += (Vector3d)(a + b + c) * (area / 3);
            _low = Vector3.Min(_low, Vector3.Min(a, Vector3.Min(b, c)));
            _high = Vector3.Max(_high, Vector3.Max(a, Vector3.Max(b, c)));
        }

        /// <summary>Adds a triangle to how the piece faces; all are measured.</summary>
        public void Judge((Vector3 A, Vector3 B, Vector3 C) corners)
        {
            (Vector3 a, Vector3 b, Vector3 c) = corners;
            Vector3d normal = Vector3.Cross(b - a, c - a), arm = ((Vector3d)(a + b + c) / 3) - (_moment / Math.Max(Area, double.Epsilon));
            _outward += Vector3d.Dot(normal, arm);
            _atMost += normal.Length * arm.Length;
        }

        /// <summary>True where this piece is small, and within another.</summary>
        public bool MayLine(Piece around) =>
            Area <= Lining * around.Area && Vector3.Min(_low, around._low) == around._low && Vector3.Max(_high, around._high) == around._high;
    }
}
