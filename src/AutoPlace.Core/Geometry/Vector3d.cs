using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>A point or direction in three dimensions, double precision, for solving and accumulation.</summary>
/// <param name="X">First coordinate.</param>
/// <param name="Y">Second coordinate.</param>
/// <param name="Z">Third coordinate.</param>
public readonly record struct Vector3d(double X, double Y, double Z)
{
    /// <summary>The origin.</summary>
    public static Vector3d Zero => default;

    /// <summary>Unit vector along the first axis.</summary>
    public static Vector3d UnitX => new(1, 0, 0);

    /// <summary>Unit vector along the second axis.</summary>
    public static Vector3d UnitY => new(0, 1, 0);

    /// <summary>Unit vector along the third axis.</summary>
    public static Vector3d UnitZ => new(0, 0, 1);

    /// <summary>Squared Euclidean length.</summary>
    public double LengthSquared => (X * X) + (Y * Y) + (Z * Z);

    /// <summary>Euclidean length.</summary>
    public double Length => Math.Sqrt(LengthSquared);

    /// <summary>True when no coordinate is NaN or infinite.</summary>
    public bool IsFinite => double.IsFinite(X) && double.IsFinite(Y) && double.IsFinite(Z);

    /// <summary>Coordinate 0, 1 or 2.</summary>
    /// <exception cref="ArgumentOutOfRangeException">The index is none of 0, 1, 2.</exception>
    public double this[int axis] => axis switch
    {
        0 => X,
        1 => Y,
        2 => Z,
        _ => throw new ArgumentOutOfRangeException(nameof(axis)),
    };

    /// <summary>Widens a single-precision vector.</summary>
    public static implicit operator Vector3d(Vector3 v) => new(v.X, v.Y, v.Z);

    /// <summary>Rounds to single precision.</summary>
    public static explicit operator Vector3(Vector3d v) => new((float)v.X, (float)v.Y, (float)v.Z);

    /// <summary>Sum.</summary>
    public static Vector3d operator +(Vector3d a, Vector3d b) => new(a.X + b.X, a.Y + b.Y, a.Z + b.Z);

    /// <summary>Difference.</summary>
    public static Vector3d operator -(Vector3d a, Vector3d b) => new(a.X - b.X, a.Y - b.Y, a.Z - b.Z);

    /// <summary>Negation.</summary>
    public static Vector3d operator -(Vector3d a) => new(-a.X, -a.Y, -a.Z);

    /// <summary>Scaled vector.</summary>
    public static Vector3d operator *(Vector3d a, double s) => new(a.X * s, a.Y * s, a.Z * s);

    /// <summary>Scaled vector.</summary>
    public static Vector3d operator *(double s, Vector3d a) => a * s;

    /// <summary>Vector divided by a scalar.</summary>
    public static Vector3d operator /(Vector3d a, double s) => new(a.X / s, a.Y / s, a.Z / s);

    /// <summary>Inner product.</summary>
    public static double Dot(Vector3d a, Vector3d b) => (a.X * b.X) + (a.Y * b.Y) + (a.Z * b.Z);

    /// <summary>Cross product, right-handed.</summary>
    public static Vector3d Cross(Vector3d a, Vector3d b) =>
        new((a.Y * b.Z) - (a.Z * b.Y), (a.Z * b.X) - (a.X * b.Z), (a.X * b.Y) - (a.Y * b.X));

    /// <summary>Distance between two points.</summary>
    public static double Distance(Vector3d a, Vector3d b) => (a - b).Length;

    /// <summary>Point on the segment from <paramref name="a"/> (t = 0) to <paramref name="b"/> (t = 1).</summary>
    public static Vector3d Lerp(Vector3d a, Vector3d b, double t) => a + ((b - a) * t);

    /// <summary>The unit vector of the same direction; zero stays zero.</summary>
    public Vector3d Normalized()
    {
        double length = Length;
        return length > 0 ? this / length : Zero;
    }

    /// <summary>For a unit vector two more that are perpendicular to it and to each other: a frame of the plane that it is the normal of.</summary>
    public (Vector3d First, Vector3d Second) AxesAcross()
    {
        Vector3d first = Cross(this, Math.Abs(X) < 0.7 ? UnitX : UnitY).Normalized();
        return (first, Cross(this, first));
    }
}
