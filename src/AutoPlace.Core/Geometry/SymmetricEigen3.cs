namespace AutoPlace.Geometry;

/// <summary>Eigenvalues and eigenvectors of a symmetric 3 x 3 matrix.</summary>
/// <param name="Values">Eigenvalues, largest first.</param>
/// <param name="Vectors">Orthogonal matrix with the eigenvectors as columns, in the same order; determinant +1.</param>
public readonly record struct SymmetricEigen3(Vector3d Values, Matrix3d Vectors)
{
    private const int MaxSweeps = 32;

    /// <summary>
    /// Cyclic Jacobi rotations until the part off the diagonal vanishes (Golub and Van Loan, Matrix Computations, section
    /// 8.5; from memory). Small eigenvalues of a graded matrix keep more digits than with a closed formula. Equal
    /// eigenvalues have some orthonormal basis of their space.
    /// </summary>
    /// <param name="matrix">Symmetric, finite; only the upper triangle is read.</param>
    /// <exception cref="ArgumentException">An element isn't finite.</exception>
    public static SymmetricEigen3 Decompose(Matrix3d matrix)
    {
        if (!matrix.Row0.IsFinite || !matrix.Row1.IsFinite || !matrix.Row2.IsFinite)
        {
            throw new ArgumentException("The matrix is not finite.", nameof(matrix));
        }

        Span<double> a = [
            matrix.Row0.X, matrix.Row0.Y, matrix.Row0.Z,
            matrix.Row0.Y, matrix.Row1.Y, matrix.Row1.Z,
            matrix.Row0.Z, matrix.Row1.Z, matrix.Row2.Z];
        Span<double> v = [1, 0, 0, 0, 1, 0, 0, 0, 1];
        for (int sweep = 0; sweep < MaxSweeps && (a[1] != 0 || a[2] != 0 || a[5] != 0); sweep++)
        {
            Rotate(a, v, 0, 1, 2);
            Rotate(a, v, 0, 2, 1);
            Rotate(a, v, 1, 2, 0);
        }

        return Sorted(a[0], a[4], a[8], new(v[0], v[3], v[6]), new(v[1], v[4], v[7]), new(v[2], v[5], v[8]));
    }

    private static SymmetricEigen3 Sorted(double d0, double d1, double d2, Vector3d v0, Vector3d v1, Vector3d v2)
    {
        if (d1 > d0)
        {
            (d0, d1, v0, v1) = (d1, d0, v1, v0);
        }

        if (d2 > d1)
        {
            (d1, d2, v1, v2) = (d2, d1, v2, v1);
        }

        if (d1 > d0)
        {
            (d0, d1, v0, v1) = (d1, d0, v1, v0);
        }

        if (Vector3d.Dot(Vector3d.Cross(v0, v1), v2) < 0)
        {
            v2 = -v2;
        }

        return new SymmetricEigen3(new Vector3d(d0, d1, d2), Matrix3d.FromColumns(v0, v1, v2));
    }

    /// <summary>Turns the plane of axes p and q so that the element (p, q) becomes zero; r is the third axis.</summary>
    private static void Rotate(Span<double> a, Span<double> v, int p, int q, int r)
    {
        double apq = a[(3 * p) + q];
        if (apq == 0)
        {
            return;
        }

        // The smaller angle: t = tan is the root of t^2 + 2 theta t - 1 with the smaller magnitude.
        double theta = (a[4 * q] - a[4 * p]) / (2 * apq);
        double t = double.IsInfinity(theta * theta)
            ? 1 / (2 * theta)
            : Math.CopySign(1, theta) / (Math.Abs(theta) + Math.Sqrt((theta * theta) + 1));
        double c = 1 / Math.Sqrt((t * t) + 1), s = t * c;
        a[4 * p] -= t * apq;
        a[4 * q] += t * apq;
        a[(3 * p) + q] = a[(3 * q) + p] = 0;
        double arp = a[(3 * r) + p], arq = a[(3 * r) + q];
        a[(3 * r) + p] = a[(3 * p) + r] = (c * arp) - (s * arq);
        a[(3 * r) + q] = a[(3 * q) + r] = (s * arp) + (c * arq);
        for (int row = 0; row < 3; row++)
        {
            double vp = v[(3 * row) + p], vq = v[(3 * row) + q];
            v[(3 * row) + p] = (c * vp) - (s * vq);
            v[(3 * row) + q] = (s * vp) + (c * vq);
        }
    }
}
