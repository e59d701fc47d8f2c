using AutoPlace.Geometry;

namespace AutoPlace.Tests.Geometry;

/// <summary>Random points, rotations and matrices for tests, from a seeded generator.</summary>
internal static class Draw
{
    /// <summary>Standard normal (Box and Muller).</summary>
    public static double Normal(Random random) =>
        Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());

    /// <summary>Three standard normals.</summary>
    public static Vector3d Point(Random random) => new(Normal(random), Normal(random), Normal(random));

    /// <summary>Points with standard normal coordinates.</summary>
    public static Vector3d[] Points(Random random, int count)
    {
        var points = new Vector3d[count];
        for (int i = 0; i < count; i++)
        {
            points[i] = Point(random);
        }

        return points;
    }

    /// <summary>A rotation, uniform (unit quaternion from four normals).</summary>
    public static Matrix3d Rotation(Random random)
    {
        Vector3d v = Point(random);
        double w = Normal(random);
        double n = Math.Sqrt(v.LengthSquared + (w * w));
        (double x, double y, double z) = (v.X / n, v.Y / n, v.Z / n);
        w /= n;
        return new Matrix3d(
            new(1 - (2 * ((y * y) + (z * z))), 2 * ((x * y) - (z * w)), 2 * ((x * z) + (y * w))),
            new(2 * ((x * y) + (z * w)), 1 - (2 * ((x * x) + (z * z))), 2 * ((y * z) - (x * w))),
            new(2 * ((x * z) - (y * w)), 2 * ((y * z) + (x * w)), 1 - (2 * ((x * x) + (y * y)))));
    }

    /// <summary>A matrix with standard normal elements.</summary>
    public static Matrix3d Matrix(Random random) => new(Point(random), Point(random), Point(random));

    /// <summary>Largest absolute element of a difference.</summary>
    public static double Difference(Matrix3d a, Matrix3d b)
    {
        Matrix3d d = a - b;
        double largest = 0;
        foreach (Vector3d row in (Vector3d[])[d.Row0, d.Row1, d.Row2])
        {
            largest = Math.Max(largest, Math.Max(Math.Abs(row.X), Math.Max(Math.Abs(row.Y), Math.Abs(row.Z))));
        }

        return largest;
    }
}
