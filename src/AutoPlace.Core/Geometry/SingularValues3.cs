namespace AutoPlace.Geometry;

/// <summary>
/// Singular value decomposition <c>M = U diag(Values) V^T</c> of a 3 x 3 matrix, with U and V orthogonal (determinant
/// +1 or -1).
/// </summary>
/// <param name="U">Left singular vectors as columns.</param>
/// <param name="Values">Singular values, not negative, largest first.</param>
/// <param name="V">Right singular vectors as columns; determinant +1.</param>
public readonly record struct SingularValues3(Matrix3d U, Vector3d Values, Matrix3d V)
{
    private const int MaxSweeps = 32;

    /// <summary>
    /// One-sided Jacobi rotations (Hestenes 1958; from memory): the columns of M V are turned until they are orthogonal.
    /// Unlike the eigenvalues of M^T M, small singular values keep their digits.
    /// </summary>
    /// <param name="matrix">Any finite matrix; a singular one is completed to orthogonal factors.</param>
    /// <exception cref="ArgumentException">An element isn't finite.</exception>
    public static SingularValues3 Decompose(Matrix3d matrix)
    {
        if (!matrix.Row0.IsFinite || !matrix.Row1.IsFinite || !matrix.Row2.IsFinite)
        {
            throw new ArgumentException("The matrix is not finite.", nameof(matrix));
        }

        Matrix3d columns = matrix.Transposed();
        (Vector3d m0, Vector3d m1, Vector3d m2) = (columns.Row0, columns.Row1, columns.Row2);
        (Vector3d v0, Vector3d v1, Vector3d v2) = (Vector3d.UnitX, Vector3d.UnitY, Vector3d.UnitZ);
        bool turned = true;
        for (int sweep = 0; sweep < MaxSweeps && turned; sweep++)
        {
            turned = Rotate(ref m0, ref m1, ref v0, ref v1);
            turned |= Rotate(ref m0, ref m2, ref v0, ref v2);
            turned |= Rotate(ref m1, ref m2, ref v1, ref v2);
        }

        Order(ref m0, ref m1, ref v0, ref v1);
        Order(ref m1, ref m2, ref v1, ref v2);
        Order(ref m0, ref m1, ref v0, ref v1);
        if (Vector3d.Dot(Vector3d.Cross(v0, v1), v2) < 0)
        {
            (m2, v2) = (-m2, -v2);
        }

        var values = new Vector3d(m0.Length, m1.Length, m2.Length);
        return new SingularValues3(Complete(m0, m1, m2, values), values, Matrix3d.FromColumns(v0, v1, v2));
    }

    /// <summary>Columns of unit length; those that vanish beside the largest are chosen orthogonal to the others.</summary>
    private static Matrix3d Complete(Vector3d m0, Vector3d m1, Vector3d m2, Vector3d values)
    {
        double negligible = 1e-15 * values.X;
        Vector3d u0 = values.X > 0 ? m0 / values.X : Vector3d.UnitX;
        Vector3d u1 = values.Y > negligible ? m1 / values.Y : AnyNormal(u0);
        Vector3d u2 = Vector3d.Cross(u0, u1).Normalized();
        u1 = Vector3d.Cross(u2, u0);
        return Matrix3d.FromColumns(u0, u1, values.Z > negligible && Vector3d.Dot(u2, m2) < 0 ? -u2 : u2);
    }

    private static Vector3d AnyNormal(Vector3d u)
    {
        (double x, double y, double z) = (Math.Abs(u.X), Math.Abs(u.Y), Math.Abs(u.Z));
        Vector3d other = x <= y && x <= z ? Vector3d.UnitX : y <= z ? Vector3d.UnitY : Vector3d.UnitZ;
        return Vector3d.Cross(u, other).Normalized();
    }

    private static bool Rotate(ref Vector3d mp, ref Vector3d mq, ref Vector3d vp, ref Vector3d vq)
    {
        double pp = mp.LengthSquared, qq = mq.LengthSquared, pq = Vector3d.Dot(mp, mq);
        if (!(Math.Abs(pq) > 1e-16 * Math.Sqrt(pp) * Math.Sqrt(qq)))
        {
            return false;
        }

        double theta = (qq - pp) / (2 * pq);
        double t = Math.CopySign(1, theta) / (Math.Abs(theta) + Math.Sqrt((theta * theta) + 1));
        double c = 1 / Math.Sqrt((t * t) + 1), s = t * c;
        (mp, mq) = ((mp * c) - (mq * s), (mp * s) + (mq * c));
        (vp, vq) = ((vp * c) - (vq * s), (vp * s) + (vq * c));
        return true;
    }

    private static void Order(ref Vector3d mp, ref Vector3d mq, ref Vector3d vp, ref Vector3d vq)
    {
        if (mq.LengthSquared > mp.LengthSquared)
        {
            (mp, mq, vp, vq) = (mq, mp, vq, vp);
        }
    }
}
