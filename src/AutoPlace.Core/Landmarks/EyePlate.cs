using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>An eye that is no ball but a flat plate, as on puppets and drawn figures. It stands for a ball as broad as the plate that touches its front.</summary>
/// <param name="Middle">Middle of the plate's front, head frame.</param>
/// <param name="Front">Where the plate faces, unit vector.</param>
/// <param name="Breadth">Mean of its two extents across, interocular distances.</param>
internal sealed record EyePlate(Vector3d Middle, Vector3d Front, double Breadth)
{
    /// <summary>Thickness over breadth up to which a piece is a plate; half a ball has 0.5.</summary>
    private const double MostThickness = 0.45;

    /// <summary>Smaller over larger extent across, at least: a brow or a row of lashes is no eye.</summary>
    private const double LeastRoundness = 0.4;

    /// <summary>Cosine of the largest angle between where a plate faces and where the head looks: eyes of animals lie at the sides.</summary>
    private const double LeastFrontward = 0.5;

    private const int FewestVertices = 4;

    /// <summary>The ball that the plate stands for; known less well than one that is modelled.</summary>
    public Eyeball Ball
    {
        get
        {
            const double CentreSigma = 0.02;
            return new(Middle - (Front * (Breadth / 2)), Breadth / 2, true, CentreSigma * CentreSigma, IsPlate: true);
        }
    }

    /// <summary>The plate that a piece of a mesh is, or null when it is none.</summary>
    /// <param name="piece">Vertices, head frame.</param>
    public static EyePlate? Of(IReadOnlyList<Vector3d> piece)
    {
        if (piece.Count < FewestVertices)
        {
            return null;
        }

        Vector3d mean = piece.Aggregate(Vector3d.Zero, (sum, p) => sum + p) / piece.Count;
        Matrix3d spread = piece.Aggregate(Matrix3d.Diagonal(0, 0, 0), (sum, p) => sum + Matrix3d.Outer(p - mean, p - mean));
        Matrix3d axes = SymmetricEigen3.Decompose(spread).Vectors.Transposed();
        Vector3d thin = Thinnest(piece, axes);
        Vector3d front = thin * (thin.Z < 0 ? -1 : 1);
        Vector3d alongAxis = (axes.Row0 - (front * Vector3d.Dot(axes.Row0, front))).Normalized(), acrossAxis = Vector3d.Cross(front, alongAxis);
        (double lowAlong, double highAlong) = Extent(alongAxis);
        (double lowAcross, double highAcross) = Extent(acrossAxis);
        (double back, double face) = Extent(front);
        double along = highAlong - lowAlong, across = highAcross - lowAcross, breadth = (along + across) / 2;
        if (front.Z < LeastFrontward || !(face - back <= MostThickness * breadth) || Math.Min(along, across) < LeastRoundness * Math.Max(along, across))
        {
            return null;
        }

        Vector3d middle = mean + (alongAxis * ((lowAlong + highAlong) / 2)) + (acrossAxis * ((lowAcross + highAcross) / 2)) + (front * face);
        return new EyePlate(middle, front, breadth);

        (double Low, double High) Extent(Vector3d axis) =>
            (piece.Min(p => Vector3d.Dot(p - mean, axis)), piece.Max(p => Vector3d.Dot(p - mean, axis)));
    }

    // The direction of least extent, by a pattern search from the axis of least variance, which leans to where the
    // vertices are dense.
    private static Vector3d Thinnest(IReadOnlyList<Vector3d> piece, Matrix3d axes)
    {
        const double FirstStep = 0.2, LastStep = 0.002;
        Vector3d best = axes.Row2;
        double least = Thickness(best);
        for (double step = FirstStep; step > LastStep;)
        {
            Vector3d start = best;
            foreach (Vector3d turn in (ReadOnlySpan<Vector3d>)[axes.Row0, -axes.Row0, axes.Row1, -axes.Row1])
            {
                Vector3d candidate = (start + (turn * step)).Normalized();
                double thickness = Thickness(candidate);
                if (thickness < least)
                {
                    (best, least) = (candidate, thickness);
                }
            }

            step *= best == start ? 0.5 : 1;
        }

        return best;

        double Thickness(Vector3d axis)
        {
            double low = double.PositiveInfinity, high = double.NegativeInfinity;
            foreach (Vector3d p in piece)
            {
                double at = Vector3d.Dot(p, axis);
                low = Math.Min(low, at);
                high = Math.Max(high, at);
            }

            return high - low;
        }
    }
}
