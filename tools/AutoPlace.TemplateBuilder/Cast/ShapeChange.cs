using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>
/// A smooth change of a head's shape, in atlas coordinates: sizes about points, faded out by a Gaussian. The left side
/// is listed; each change acts on the right side as a mirror image.
/// </summary>
/// <param name="Changes">The changes, applied one after the other.</param>
internal sealed record ShapeChange(params IReadOnlyList<ShapeChange.Local> Changes)
{
    /// <summary>One local change.</summary>
    /// <param name="Centre">Where it is strongest; x is 0 or positive.</param>
    /// <param name="Radius">Standard deviation of the fading.</param>
    /// <param name="Size">Factors along the axes about the centre.</param>
    /// <param name="Move">Added shift; x counts outward.</param>
    internal sealed record Local(Vector3d Centre, double Radius, Vector3d Size, Vector3d Move);

    /// <summary>Where a point goes.</summary>
    public Vector3d Apply(Vector3d point)
    {
        foreach (Local change in Changes)
        {
            point += change.Centre.X == 0 ? Shift(change, point) : Shift(change, point) + MirrorX(Shift(change, MirrorX(point)));
        }

        return point;
    }

    private static Vector3d Shift(Local change, Vector3d point)
    {
        Vector3d from = point - change.Centre;
        double weight = Math.Exp(-from.LengthSquared / (2 * change.Radius * change.Radius));
        return new Vector3d(
            (from.X * (change.Size.X - 1)) + change.Move.X,
            (from.Y * (change.Size.Y - 1)) + change.Move.Y,
            (from.Z * (change.Size.Z - 1)) + change.Move.Z) * weight;
    }

    private static Vector3d MirrorX(Vector3d p) => p with { X = -p.X };
}
