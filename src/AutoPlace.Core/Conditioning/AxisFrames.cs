using AutoPlace.Geometry;

namespace AutoPlace.Conditioning;

/// <summary>A facing: which directions of the file are the subject's left, up and front.</summary>
/// <param name="Left">The subject's left, unit vector.</param>
/// <param name="Up">Up, unit vector.</param>
/// <param name="Front">Anterior, unit vector; left x up.</param>
public readonly record struct Facing(Vector3d Left, Vector3d Up, Vector3d Front)
{
    /// <summary>The facing of the two given axes.</summary>
    public static Facing FromUpAndFront(Vector3d up, Vector3d front) => new(Vector3d.Cross(up, front), up, front);
}

/// <summary>The 24 right-handed facings along the axes of a file.</summary>
public static class AxisFrames
{
    /// <summary>
    /// All 24, the usual ones first: glTF's own (+Y up, +Z front), Z up with the front to -Y, then the others with Y up,
    /// with Z up, and the rest.
    /// </summary>
    public static IReadOnlyList<Facing> All { get; } = Enumerate();

    /// <summary>The six axes of a file by the words for them: x, -x, y, -y, z, -z.</summary>
    public static IReadOnlyDictionary<string, Vector3d> AxesByName { get; } = new Dictionary<string, Vector3d>(StringComparer.Ordinal)
    {
        ["x"] = Vector3d.UnitX,
        ["-x"] = -Vector3d.UnitX,
        ["y"] = Vector3d.UnitY,
        ["-y"] = -Vector3d.UnitY,
        ["z"] = Vector3d.UnitZ,
        ["-z"] = -Vector3d.UnitZ,
    };

    /// <summary>Facings that agree with what the user said.</summary>
    /// <param name="up">Up axis, or null when it's to be found.</param>
    /// <param name="front">Front axis, or null when it's to be found.</param>
    /// <exception cref="ArgumentException">Up and front lie along the same axis.</exception>
    public static IReadOnlyList<Facing> Matching(Vector3d? up, Vector3d? front)
    {
        Facing[] matching = [.. All.Where(f => (up is null || f.Up == up.Value) && (front is null || f.Front == front.Value))];
        return matching.Length > 0
            ? matching
            : throw new ArgumentException("Up and front must be two different axes.", nameof(front));
    }

    private static Facing[] Enumerate()
    {
        Vector3d x = Vector3d.UnitX, y = Vector3d.UnitY, z = Vector3d.UnitZ;
        Vector3d[] fronts = [z, -y, y, -z, x, -x];
        Vector3d[] ups = [y, z, -y, -z, x, -x];
        Facing[] all = [.. from up in ups from front in fronts where Vector3d.Dot(up, front) == 0 select Facing.FromUpAndFront(up, front)];
        return [.. all.OrderByDescending(f => (f.Up == y && f.Front == z) || (f.Up == z && f.Front == -y))];
    }
}
