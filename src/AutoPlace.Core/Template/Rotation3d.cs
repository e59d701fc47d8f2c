using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>A unit quaternion, double precision; (0, 0, 0, 1) is no rotation. Component order as in glTF.</summary>
/// <param name="X">First imaginary component.</param>
/// <param name="Y">Second imaginary component.</param>
/// <param name="Z">Third imaginary component.</param>
/// <param name="W">Real component.</param>
public readonly record struct Rotation3d(double X, double Y, double Z, double W)
{
    /// <summary>No rotation.</summary>
    public static Rotation3d Identity => new(0, 0, 0, 1);

    /// <summary>Euclidean length of the four components; 1 for a rotation.</summary>
    public double Norm => Math.Sqrt((X * X) + (Y * Y) + (Z * Z) + (W * W));

    /// <summary>The rotation <paramref name="b"/> first, then <paramref name="a"/> (Hamilton product, as for matrices on column vectors).</summary>
    public static Rotation3d operator *(Rotation3d a, Rotation3d b) => new(
        (a.W * b.X) + (a.X * b.W) + (a.Y * b.Z) - (a.Z * b.Y),
        (a.W * b.Y) - (a.X * b.Z) + (a.Y * b.W) + (a.Z * b.X),
        (a.W * b.Z) + (a.X * b.Y) - (a.Y * b.X) + (a.Z * b.W),
        (a.W * b.W) - (a.X * b.X) - (a.Y * b.Y) - (a.Z * b.Z));

    /// <summary>The rotation of an orthogonal matrix with determinant 1 that acts on column vectors (Shepperd 1978).</summary>
    public static Rotation3d FromMatrix(Matrix3d m)
    {
        (double xx, double yy, double zz) = (m.Row0.X, m.Row1.Y, m.Row2.Z);
        (double yz, double zx, double xy) = (m.Row2.Y - m.Row1.Z, m.Row0.Z - m.Row2.X, m.Row1.X - m.Row0.Y);
        double largest = Math.Max(m.Trace, Math.Max(xx, Math.Max(yy, zz)));
        Rotation3d q = largest == m.Trace ? new(yz, zx, xy, 1 + m.Trace)
            : largest == xx ? new(1 + xx - yy - zz, m.Row0.Y + m.Row1.X, m.Row0.Z + m.Row2.X, yz)
            : largest == yy ? new(m.Row0.Y + m.Row1.X, 1 + yy - xx - zz, m.Row1.Z + m.Row2.Y, zx)
            : new(m.Row0.Z + m.Row2.X, m.Row1.Z + m.Row2.Y, 1 + zz - xx - yy, xy);
        return q.Normalized();
    }

    /// <summary>The same rotation as a matrix that acts on column vectors.</summary>
    public Matrix3d ToMatrix() => new(
        new(1 - (2 * ((Y * Y) + (Z * Z))), 2 * ((X * Y) - (Z * W)), 2 * ((X * Z) + (Y * W))),
        new(2 * ((X * Y) + (Z * W)), 1 - (2 * ((X * X) + (Z * Z))), 2 * ((Y * Z) - (X * W))),
        new(2 * ((X * Z) - (Y * W)), 2 * ((Y * Z) + (X * W)), 1 - (2 * ((X * X) + (Y * Y)))));

    /// <summary>The opposite rotation.</summary>
    public Rotation3d Inverse() => new(-X, -Y, -Z, W);

    /// <summary>A direction or position turned about the origin.</summary>
    public Vector3d Rotate(Vector3d v)
    {
        var axis = new Vector3d(X, Y, Z);
        Vector3d t = Vector3d.Cross(axis, v) * 2;
        return v + (t * W) + Vector3d.Cross(axis, t);
    }

    /// <summary>Components divided by <see cref="Norm"/>.</summary>
    public Rotation3d Normalized()
    {
        double norm = Norm;
        return new(X / norm, Y / norm, Z / norm, W / norm);
    }

    /// <summary>Of the two quaternions that mean this rotation, the one whose last non-zero component (W, Z, Y, X) is positive.</summary>
    public Rotation3d Canonical()
    {
        double leading = W != 0 ? W : Z != 0 ? Z : Y != 0 ? Y : X;
        return leading < 0 ? new(-X, -Y, -Z, -W) : this;
    }

    /// <summary>Angle in degrees, [0, 180], that turns <paramref name="a"/> into <paramref name="b"/>.</summary>
    public static double AngleDegrees(Rotation3d a, Rotation3d b)
    {
        Rotation3d d = a.Inverse() * b;
        double sine = Math.Sqrt((d.X * d.X) + (d.Y * d.Y) + (d.Z * d.Z));
        return 2 * Math.Atan2(sine, Math.Abs(d.W)) * (180 / Math.PI);
    }
}
