using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Conditioning;

/// <summary>Whether a mesh was built symmetric: vertex for vertex, about a plane of its own coordinates.</summary>
public static class MeshSymmetry
{
    /// <summary>Two vertices are partners within this distance, interocular distances.</summary>
    private const double Tolerance = 2e-3;

    /// <summary>Share of the head's vertices that need a partner.</summary>
    private const double NeededShare = 0.97;

    /// <summary>The file's axis must be this near to the frame's left axis (cosine of 15 degrees).</summary>
    private const double AxisAgreement = 0.966;

    /// <summary>
    /// A head pitched less than this (cosine of 17 degrees) against the file's axes was modelled upright along them:
    /// people differ by about 8 degrees in how the face sits on the skull. Judged on the development heads.
    /// </summary>
    private const double UprightAgreement = 0.956;

    /// <summary>A head whose left axis is this near to the file's (cosine of 6 degrees) was lined up with the file's axes.</summary>
    private const double LinedUpAgreement = 0.9945;

    /// <summary>
    /// The frame turned and moved onto the plane that the head was built symmetric about, or null when it wasn't. The
    /// plane is tried where modellers put it (common practice, no published source): through the file's origin or the
    /// middle of the mesh, across the axis that points to the left. Such a head is taken as upright along the file's
    /// axes, too: heads differ in how they carry face on skull, so the pitch found by looking is less certain.
    /// </summary>
    /// <param name="positions">V vertices of the head, file coordinates.</param>
    /// <param name="frame">Frame as found by looking.</param>
    public static HeadFrame? AlignToBuiltPlane(ReadOnlySpan<Vector3> positions, HeadFrame frame)
    {
        ArgumentNullException.ThrowIfNull(frame);
        Vector3d axis = NearestAxis(frame.Left);
        if (Vector3d.Dot(axis, frame.Left) < AxisAgreement || positions.IsEmpty)
        {
            return null;
        }

        (double low, double high) = (double.PositiveInfinity, double.NegativeInfinity);
        foreach (Vector3 p in positions)
        {
            double along = Vector3d.Dot(p, axis);
            (low, high) = (Math.Min(low, along), Math.Max(high, along));
        }

        HashSet<long> occupied = Occupied(positions, Cell(frame.InterocularDistance));
        foreach (double offset in (ReadOnlySpan<double>)[0, (low + high) / 2])
        {
            if (IsBuiltAbout(positions, occupied, axis, offset, Cell(frame.InterocularDistance)))
            {
                return Upright(OntoPlane(frame, axis, offset));
            }
        }

        return null;
    }

    /// <summary>True when nearly every vertex has a partner on the other side of a plane.</summary>
    /// <param name="positions">V vertices of the head, file coordinates.</param>
    /// <param name="normal">Unit normal of the plane.</param>
    /// <param name="offset">Distance of the plane from the file's origin along the normal.</param>
    /// <param name="interocularDistance">Unit of the tolerance, file coordinates.</param>
    public static bool IsBuiltAbout(ReadOnlySpan<Vector3> positions, Vector3d normal, double offset, double interocularDistance) =>
        IsBuiltAbout(positions, Occupied(positions, Cell(interocularDistance)), normal, offset, Cell(interocularDistance));

    /// <summary>The frame whose midsagittal plane is the given one; up stays as near as it can.</summary>
    /// <param name="frame">The frame.</param>
    /// <param name="left">Unit normal of the plane, towards the subject's left, file coordinates.</param>
    /// <param name="offset">Distance of the plane from the file's origin along the normal.</param>
    public static HeadFrame OntoPlane(HeadFrame frame, Vector3d left, double offset)
    {
        ArgumentNullException.ThrowIfNull(frame);
        double handed = Math.Sign(Vector3d.Dot(Vector3d.Cross(frame.Left, frame.Up), frame.Front));
        Vector3d up = (frame.Up - (left * Vector3d.Dot(frame.Up, left))).Normalized();
        return frame with
        {
            Origin = frame.Origin - (left * (Vector3d.Dot(frame.Origin, left) - offset)),
            Left = left,
            Up = up,
            Front = Vector3d.Cross(left, up) * handed,
        };
    }

    /// <summary>
    /// The frame with its up axis as the file has it, when the head is lined up with the file's axes and pitched by no
    /// more than heads differ; else the frame as it is.
    /// </summary>
    /// <param name="frame">The frame.</param>
    public static HeadFrame Upright(HeadFrame frame)
    {
        ArgumentNullException.ThrowIfNull(frame);
        Vector3d up = NearestAxis(frame.Up);
        return Vector3d.Dot(up, frame.Up) > UprightAgreement && Vector3d.Dot(NearestAxis(frame.Left), frame.Left) > LinedUpAgreement
            ? OntoPlane(frame with { Up = up }, frame.Left, Vector3d.Dot(frame.Origin, frame.Left))
            : frame;
    }

    private static Vector3d NearestAxis(Vector3d direction)
    {
        (double x, double y, double z) = (Math.Abs(direction.X), Math.Abs(direction.Y), Math.Abs(direction.Z));
        return x >= y && x >= z ? Vector3d.UnitX * Math.Sign(direction.X)
            : y >= z ? Vector3d.UnitY * Math.Sign(direction.Y)
            : Vector3d.UnitZ * Math.Sign(direction.Z);
    }

    // Vertices are hashed to cubes of twice the tolerance.
    private static double Cell(double interocularDistance) => 2 * Tolerance * interocularDistance;

    private static HashSet<long> Occupied(ReadOnlySpan<Vector3> positions, double cell)
    {
        var occupied = new HashSet<long>(positions.Length);
        foreach (Vector3 p in positions)
        {
            occupied.Add(Key(Index(p.X, cell), Index(p.Y, cell), Index(p.Z, cell)));
        }

        return occupied;
    }

    // Most heads that aren't built symmetric show it after few vertices.
    private static bool IsBuiltAbout(ReadOnlySpan<Vector3> positions, HashSet<long> occupied, Vector3d axis, double offset, double cell)
    {
        int spare = (int)(positions.Length * (1 - NeededShare));
        foreach (Vector3 p in positions)
        {
            Vector3d mirrored = (Vector3d)p - (axis * (2 * (Vector3d.Dot(p, axis) - offset)));
            if (!HasNear(occupied, mirrored, cell) && --spare < 0)
            {
                return false;
            }
        }

        return true;
    }

    private static bool HasNear(HashSet<long> occupied, Vector3d p, double cell)
    {
        // The cube and those across its nearest faces hold every point within half a cube.
        (long x, long y, long z) = (Index(p.X, cell), Index(p.Y, cell), Index(p.Z, cell));
        long dx = Nearer(p.X, x, cell), dy = Nearer(p.Y, y, cell), dz = Nearer(p.Z, z, cell);
        for (int corner = 0; corner < 8; corner++)
        {
            if (occupied.Contains(Key(x + ((corner & 1) * dx), y + ((corner >> 1 & 1) * dy), z + ((corner >> 2) * dz))))
            {
                return true;
            }
        }

        return false;
    }

    private static long Nearer(double coordinate, long index, double cell) => (coordinate / cell) - index >= 0.5 ? 1 : -1;

    private static long Index(double coordinate, double cell) => (long)Math.Floor(coordinate / cell);

    // 21 bits an axis: cubes with the same key lie thousands of interocular distances apart.
    private static long Key(long x, long y, long z)
    {
        const long Mask = (1 << 21) - 1;
        return (x & Mask) | ((y & Mask) << 21) | ((z & Mask) << 42);
    }
}
