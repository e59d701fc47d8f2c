using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Export;

/// <summary>
/// Turns and scales a file's coordinates to glTF's frame (metres, +X the subject's left, +Y up, +Z front). Only whole
/// axes are exchanged, so a head that is tilted in its file stays tilted. Mirrored files are mirrored back by a
/// negative scale.
/// </summary>
/// <param name="Rotation">Applied after the scale.</param>
/// <param name="Scale">Factor of each file axis; the first is negative when the file is mirrored.</param>
internal sealed record AxisAlignment(Rotation3d Rotation, Vector3d Scale)
{
    /// <summary>The assignment of file axes that comes nearest to the head's own frame.</summary>
    internal static AxisAlignment Of(HeadFrame frame, double metresPerUnit)
    {
        (Matrix3d best, double bestFit) = (Matrix3d.Identity, double.NegativeInfinity);
        var axes = new Matrix3d(frame.Left, frame.Up, frame.Front);
        for (int a = 0; a < 3; a++)
        {
            for (int b = 0; b < 3; b++)
            {
                if (a != b && Assign(axes, a, b, 3 - a - b) is (Matrix3d rows, double fit) && fit > bestFit)
                {
                    (best, bestFit) = (rows, fit);
                }
            }
        }

        bool mirrored = best.Determinant < 0;
        Matrix3d rotation = mirrored ? best * Matrix3d.Diagonal(-1, 1, 1) : best;
        return new(
            Rotation3d.FromMatrix(rotation).Canonical(),
            new Vector3d(mirrored ? -metresPerUnit : metresPerUnit, metresPerUnit, metresPerUnit));
    }

    // Left, up and front become signed file axes a, b and c; the fit is the sum of the cosines.
    private static (Matrix3d Rows, double Fit) Assign(Matrix3d axes, int a, int b, int c)
    {
        Vector3d left = Axis(axes.Row0, a), up = Axis(axes.Row1, b), front = Axis(axes.Row2, c);
        return (
            new Matrix3d(left, up, front),
            Vector3d.Dot(left, axes.Row0) + Vector3d.Dot(up, axes.Row1) + Vector3d.Dot(front, axes.Row2));
    }

    private static Vector3d Axis(Vector3d direction, int axis)
    {
        double sign = direction[axis] < 0 ? -1 : 1;
        return new(axis == 0 ? sign : 0, axis == 1 ? sign : 0, axis == 2 ? sign : 0);
    }
}
