using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>
/// A triangle with its corners sorted by position (x, then y, then z). All arithmetic on it starts from that order, so
/// that its outcome, to the last bit, depends neither on the triangle's index nor on where its corner list begins, and
/// an edge gives the same outcome in both triangles that share it.
/// </summary>
internal readonly struct LeafTriangle
{
    /// <summary>Corners, lowest first.</summary>
    public readonly Vector3 A, B, C;

    /// <summary>Index of the triangle in the mesh.</summary>
    public readonly int Index;

    /// <summary>For A, B and C (two bits each, A lowest) the corner 0, 1 or 2 of the mesh's triangle.</summary>
    private readonly int _cornerCode;

    public LeafTriangle(Vector3 corner0, Vector3 corner1, Vector3 corner2, int index)
    {
        (Vector3 a, Vector3 b, Vector3 c) = (corner0, corner1, corner2);
        (int ia, int ib, int ic) = (0, 1, 2);
        if (Compare(b, a) < 0)
        {
            (a, b, ia, ib) = (b, a, ib, ia);
        }

        if (Compare(c, b) < 0)
        {
            (b, c, ib, ic) = (c, b, ic, ib);
        }

        if (Compare(b, a) < 0)
        {
            (a, b, ia, ib) = (b, a, ib, ia);
        }

        (A, B, C, Index, _cornerCode) = (a, b, c, index, ia | (ib << 2) | (ic << 4));
    }

    /// <summary>True when sorting turned the triangle over.</summary>
    public bool IsTurnedOver => ((_cornerCode & 3) + 1) % 3 != ((_cornerCode >> 2) & 3);

    /// <summary>The box around the corners.</summary>
    public (Vector3 Min, Vector3 Max) Bounds => (Vector3.Min(Vector3.Min(A, B), C), Vector3.Max(Vector3.Max(A, B), C));

    /// <summary>Weights of the sorted corners, put in the order of the mesh's corners.</summary>
    public SurfacePoint ToSurfacePoint(Vector3d weights)
    {
        Span<double> sorted = stackalloc double[3];
        sorted[_cornerCode & 3] = weights.X;
        sorted[(_cornerCode >> 2) & 3] = weights.Y;
        sorted[(_cornerCode >> 4) & 3] = weights.Z;
        return new SurfacePoint(Index, new Vector3d(sorted[0], sorted[1], sorted[2]));
    }

    /// <summary>Order of triangles that answer a query equally well: by corner positions, last by index.</summary>
    public static int Compare(in LeafTriangle first, in LeafTriangle second)
    {
        int order = Compare(first.A, second.A);
        order = order != 0 ? order : Compare(first.B, second.B);
        order = order != 0 ? order : Compare(first.C, second.C);
        return order != 0 ? order : first.Index.CompareTo(second.Index);
    }

    /// <summary>Order by x, then y, then z.</summary>
    public static int Compare(Vector3d first, Vector3d second)
    {
        if (first.X != second.X)
        {
            return first.X < second.X ? -1 : 1;
        }

        if (first.Y != second.Y)
        {
            return first.Y < second.Y ? -1 : 1;
        }

        return first.Z == second.Z ? 0 : first.Z < second.Z ? -1 : 1;
    }

    /// <summary>True when the mesh triangle's normal has at least this cosine with a unit direction.</summary>
    public bool Faces(Vector3d direction, double leastCosine)
    {
        Vector3d normal = Vector3d.Cross((Vector3d)B - A, (Vector3d)C - A);
        double along = Vector3d.Dot(normal, direction) * (IsTurnedOver ? -1 : 1);
        double length = normal.Length;
        return length > 0 && along >= leastCosine * length;
    }

    /// <summary>The nearest point of the triangle.</summary>
    /// <param name="query">Query point.</param>
    /// <param name="offset">From the query to the nearest point.</param>
    /// <param name="weights">Weights of A, B, C, in [0, 1].</param>
    /// <returns>Squared distance.</returns>
    public double ClosestPoint(Vector3d query, out Vector3d offset, out Vector3d weights)
    {
        Vector3d a = A - query, b = B - query, c = C - query;
        Vector3d ab = b - a, ac = c - a;
        Vector3d normal = Vector3d.Cross(ab, ac);
        double area2 = normal.LengthSquared;

        // A triangle lower than 1e-12 of its length has no direction worth a name: its edges stand for it.
        if (area2 > 1e-24 * ab.LengthSquared * ac.LengthSquared)
        {
            double wb = Vector3d.Dot(normal, Vector3d.Cross(ac, a)) / area2;
            double wc = Vector3d.Dot(normal, Vector3d.Cross(a, ab)) / area2;
            double wa = 1 - wb - wc;
            if (wa >= 0 && wb >= 0 && wc >= 0)
            {
                double height = Vector3d.Dot(normal, a);
                offset = normal * (height / area2);
                weights = new Vector3d(wa, wb, wc);
                return offset.LengthSquared;
            }
        }

        double best = ClosestOnSegment(a, b, out offset, out double t);
        weights = new Vector3d(1 - t, t, 0);
        double candidate = ClosestOnSegment(a, c, out Vector3d other, out t);
        if (candidate < best)
        {
            (best, offset, weights) = (candidate, other, new Vector3d(1 - t, 0, t));
        }

        candidate = ClosestOnSegment(b, c, out other, out t);
        if (candidate < best)
        {
            (best, offset, weights) = (candidate, other, new Vector3d(0, 1 - t, t));
        }

        return best;
    }

    /// <summary>
    /// Where a ray meets the triangle, after Woop, Benthin and Wald 2013, "Watertight ray/triangle intersection",
    /// J Comput Graph Tech 2(1): a ray through a shared edge meets at least one of its triangles.
    /// </summary>
    /// <param name="ray">The ray.</param>
    /// <param name="parameter">Position along the ray, in lengths of its direction.</param>
    /// <param name="weights">Weights of A, B, C, in [0, 1].</param>
    /// <param name="isFrontFace">The ray comes from the side of the mesh triangle's normal.</param>
    public bool Intersects(in ShearedRay ray, out double parameter, out Vector3d weights, out bool isFrontFace)
    {
        Vector3d a = ray.Shear(A), b = ray.Shear(B), c = ray.Shear(C);
        double u = (c.X * b.Y) - (c.Y * b.X);
        double v = (a.X * c.Y) - (a.Y * c.X);
        double w = (b.X * a.Y) - (b.Y * a.X);
        double determinant = u + v + w;
        parameter = double.NaN;
        weights = default;
        isFrontFace = false;
        if (((u < 0 || v < 0 || w < 0) && (u > 0 || v > 0 || w > 0)) || determinant == 0)
        {
            return false;
        }

        weights = new Vector3d(u / determinant, v / determinant, w / determinant);
        parameter = (weights.X * a.Z) + (weights.Y * b.Z) + (weights.Z * c.Z) + 0.0; // turns -0 into 0
        isFrontFace = (determinant > 0) != (ray.IsMirrored ^ IsTurnedOver);
        return true;
    }

    private static double ClosestOnSegment(Vector3d a, Vector3d b, out Vector3d nearest, out double t)
    {
        Vector3d ab = b - a;
        double along = -Vector3d.Dot(a, ab);
        double length2 = ab.LengthSquared;
        (t, nearest) = along <= 0 ? (0, a) : along >= length2 ? (1, b) : (along / length2, a + (ab * (along / length2)));
        return nearest.LengthSquared;
    }
}
