using System.Numerics;
using System.Runtime.CompilerServices;
using System.Runtime.Intrinsics;

namespace AutoPlace.Geometry;

/// <summary>
/// A node of <see cref="BoundingVolumeHierarchy"/>: up to eight children, each a box with either a further node or one
/// triangle. One coordinate of all eight boxes lies in one vector, so that eight boxes are tested at once.
/// </summary>
internal struct WideNode
{
    /// <summary>Most children of a node.</summary>
    public const int Width = 8;

    /// <summary>
    /// Bounds are computed in single precision with a relative error under 4 ulp (2^-22 = 2.4e-7); before one is used to
    /// leave something out, this share is taken off.
    /// </summary>
    public const float Margin = 1e-6f;

    private Vector256<float> _minX, _minY, _minZ, _maxX, _maxY, _maxZ;
    private Vector256<int> _children;

    /// <summary>Number of children.</summary>
    public int Count { get; private set; }

    /// <summary>A child: the index of a node, or the complement of a triangle's slot when negative.</summary>
    /// <param name="child">Which child.</param>
    public readonly int this[int child] => _children[child];

    /// <summary>Adds a child.</summary>
    /// <param name="min">Its box's lowest corner.</param>
    /// <param name="max">Its box's highest corner.</param>
    /// <param name="item">Index of a node, or the complement of a triangle's slot.</param>
    public void Add(Vector3 min, Vector3 max, int item)
    {
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(Count, Width);
        Put(ref _minX, min.X);
        Put(ref _minY, min.Y);
        Put(ref _minZ, min.Z);
        Put(ref _maxX, max.X);
        Put(ref _maxY, max.Y);
        Put(ref _maxZ, max.Z);
        Unsafe.Add(ref Unsafe.As<Vector256<int>, int>(ref _children), Count) = item;
        Count++;
    }

    // WithElement by a variable index reads and writes the whole vector: building took a third longer.
    private readonly void Put(ref Vector256<float> row, float value) => Unsafe.Add(ref Unsafe.As<Vector256<float>, float>(ref row), Count) = value;

    /// <summary>The box of a child.</summary>
    /// <param name="child">Which child.</param>
    public readonly (Vector3 Min, Vector3 Max) Box(int child) => (
        new Vector3(_minX[child], _minY[child], _minZ[child]),
        new Vector3(_maxX[child], _maxY[child], _maxZ[child]));

    /// <summary>Squared distances of a point from the children's boxes.</summary>
    /// <param name="query">The point.</param>
    /// <param name="reach">Squared distance that still matters, rounded up.</param>
    /// <param name="bounds">Receives lower bounds, for children within reach.</param>
    /// <returns>A bit for each child within reach.</returns>
    public readonly uint Within(Vector3 query, float reach, out Vector256<float> bounds)
    {
        Vector256<float> x = Vector256.Create(query.X), y = Vector256.Create(query.Y), z = Vector256.Create(query.Z);
        Vector256<float> dx = Vector256.Max(Vector256.Max(_minX - x, x - _maxX), Vector256<float>.Zero);
        Vector256<float> dy = Vector256.Max(Vector256.Max(_minY - y, y - _maxY), Vector256<float>.Zero);
        Vector256<float> dz = Vector256.Max(Vector256.Max(_minZ - z, z - _maxZ), Vector256<float>.Zero);
        bounds = ((dx * dx) + (dy * dy) + (dz * dz)) * (1 - Margin);
        return Vector256.LessThanOrEqual(bounds, Vector256.Create(reach)).ExtractMostSignificantBits() & ((1u << Count) - 1);
    }

    /// <summary>Scalar twin of <see cref="Within"/>, for one child.</summary>
    /// <param name="child">Which child.</param>
    /// <param name="query">The point.</param>
    internal readonly float DistanceSquared(int child, Vector3 query)
    {
        (Vector3 min, Vector3 max) = Box(child);
        float x = MathF.Max(MathF.Max(min.X - query.X, query.X - max.X), 0);
        float y = MathF.Max(MathF.Max(min.Y - query.Y, query.Y - max.Y), 0);
        float z = MathF.Max(MathF.Max(min.Z - query.Z, query.Z - max.Z), 0);
        return ((x * x) + (y * y) + (z * z)) * (1 - Margin);
    }

    /// <summary>Where a ray enters the children's boxes.</summary>
    /// <param name="origin">Start of the ray.</param>
    /// <param name="inverse">One over each coordinate of its direction, finite.</param>
    /// <param name="end">Parameter that still matters, rounded up.</param>
    /// <param name="entries">Receives parameters not beyond the entry, for children that the ray meets.</param>
    /// <returns>A bit for each child that the ray meets before the end.</returns>
    public readonly uint Met(Vector3 origin, Vector3 inverse, float end, out Vector256<float> entries)
    {
        Vector256<float> ox = Vector256.Create(origin.X), oy = Vector256.Create(origin.Y), oz = Vector256.Create(origin.Z);
        Vector256<float> ix = Vector256.Create(inverse.X), iy = Vector256.Create(inverse.Y), iz = Vector256.Create(inverse.Z);
        Vector256<float> x0 = (_minX - ox) * ix, x1 = (_maxX - ox) * ix;
        Vector256<float> y0 = (_minY - oy) * iy, y1 = (_maxY - oy) * iy;
        Vector256<float> z0 = (_minZ - oz) * iz, z1 = (_maxZ - oz) * iz;
        Vector256<float> entry = Vector256.Max(
            Vector256.Max(Vector256.Min(x0, x1), Vector256.Min(y0, y1)),
            Vector256.Max(Vector256.Min(z0, z1), Vector256<float>.Zero));
        Vector256<float> exit = Vector256.Min(
            Vector256.Min(Vector256.Max(x0, x1), Vector256.Max(y0, y1)), Vector256.Max(z0, z1));

        // Each term has a relative error under 3 half ulp: the box is entered a little early and left a little late.
        entries = entry * (1 - Margin);
        Vector256<float> met = Vector256.LessThanOrEqual(entries, exit * (1 + Margin))
            & Vector256.LessThanOrEqual(entries, Vector256.Create(end));
        return met.ExtractMostSignificantBits() & ((1u << Count) - 1);
    }

    /// <summary>Scalar twin of <see cref="Met"/>, for one child: the entry, or NaN when the ray passes.</summary>
    /// <param name="child">Which child.</param>
    /// <param name="origin">Start of the ray.</param>
    /// <param name="inverse">One over each coordinate of its direction, finite.</param>
    internal readonly float Entry(int child, Vector3 origin, Vector3 inverse)
    {
        (Vector3 min, Vector3 max) = Box(child);
        float entry = 0, exit = float.PositiveInfinity;
        for (int axis = 0; axis < 3; axis++)
        {
            float t0 = (min[axis] - origin[axis]) * inverse[axis], t1 = (max[axis] - origin[axis]) * inverse[axis];
            entry = MathF.Max(entry, MathF.Min(t0, t1));
            exit = MathF.Min(exit, MathF.Max(t0, t1));
        }

        return entry * (1 - Margin) <= exit * (1 + Margin) ? entry * (1 - Margin) : float.NaN;
    }
}
