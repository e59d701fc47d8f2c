namespace AutoPlace.Geometry;

/// <summary>A 3 x 3 matrix of doubles that acts on column vectors: <c>y = M x</c>.</summary>
/// <param name="Row0">First row.</param>
/// <param name="Row1">Second row.</param>
/// <param name="Row2">Third row.</param>
public readonly record struct Matrix3d(Vector3d Row0, Vector3d Row1, Vector3d Row2)
{
    /// <summary>The identity.</summary>
    public static Matrix3d Identity => new(Vector3d.UnitX, Vector3d.UnitY, Vector3d.UnitZ);

    /// <summary>Determinant.</summary>
    public double Determinant => Vector3d.Dot(Row0, Vector3d.Cross(Row1, Row2));

    /// <summary>Sum of the diagonal.</summary>
    public double Trace => Row0.X + Row1.Y + Row2.Z;

    /// <summary>Matrix with the given columns.</summary>
    public static Matrix3d FromColumns(Vector3d c0, Vector3d c1, Vector3d c2) =>
        new(new(c0.X, c1.X, c2.X), new(c0.Y, c1.Y, c2.Y), new(c0.Z, c1.Z, c2.Z));

    /// <summary>Diagonal matrix.</summary>
    public static Matrix3d Diagonal(double x, double y, double z) => new(new(x, 0, 0), new(0, y, 0), new(0, 0, z));

    /// <summary>Outer product <c>a b^T</c>.</summary>
    public static Matrix3d Outer(Vector3d a, Vector3d b) => new(b * a.X, b * a.Y, b * a.Z);

    /// <summary>Matrix times column vector.</summary>
    public static Vector3d operator *(Matrix3d m, Vector3d v) =>
        new(Vector3d.Dot(m.Row0, v), Vector3d.Dot(m.Row1, v), Vector3d.Dot(m.Row2, v));

    /// <summary>Matrix product.</summary>
    public static Matrix3d operator *(Matrix3d a, Matrix3d b)
    {
        Matrix3d t = b.Transposed();
        return FromColumns(a * t.Row0, a * t.Row1, a * t.Row2);
    }

    /// <summary>Scaled matrix.</summary>
    public static Matrix3d operator *(Matrix3d m, double s) => new(m.Row0 * s, m.Row1 * s, m.Row2 * s);

    /// <summary>Sum.</summary>
    public static Matrix3d operator +(Matrix3d a, Matrix3d b) => new(a.Row0 + b.Row0, a.Row1 + b.Row1, a.Row2 + b.Row2);

    /// <summary>Difference.</summary>
    public static Matrix3d operator -(Matrix3d a, Matrix3d b) => new(a.Row0 - b.Row0, a.Row1 - b.Row1, a.Row2 - b.Row2);

    /// <summary>Transpose.</summary>
    public Matrix3d Transposed() =>
        new(new(Row0.X, Row1.X, Row2.X), new(Row0.Y, Row1.Y, Row2.Y), new(Row0.Z, Row1.Z, Row2.Z));

    /// <summary>Inverse by cofactors.</summary>
    /// <exception cref="InvalidOperationException">The determinant is zero or not finite.</exception>
    public Matrix3d Inverse()
    {
        Vector3d c0 = Vector3d.Cross(Row1, Row2);
        Vector3d c1 = Vector3d.Cross(Row2, Row0);
        Vector3d c2 = Vector3d.Cross(Row0, Row1);
        double det = Vector3d.Dot(Row0, c0);
        if (det == 0 || !double.IsFinite(det))
        {
            throw new InvalidOperationException("The matrix is singular.");
        }

        return FromColumns(c0 / det, c1 / det, c2 / det);
    }
}
