using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>
/// Finds the eyeballs: pieces of the mesh that fit a sphere of an eyeball's size where the network and the lids have
/// the eye. A flat plate there stands for a ball behind it. Where there is neither, the ball is inferred from the landmark.
/// </summary>
public static class EyeballFinder
{
    /// <summary>Radius of an adult's eyeball over the interocular distance: 12.0 mm (Bekerman et al. 2014) over 63 mm (Dodgson 2004).</summary>
    public const double AdultRadius = 12.0 / 63;

    /// <summary>
    /// How far ahead of the network's eye centre a ball of a living eye's size lies when it touches the lids, interocular
    /// distances: the network was taught with balls of 30 mm, as in the built-in template.
    /// </summary>
    private const double AheadOfLandmark = 0.066;

    private const double LeastRadius = 0.1;
    private const double MostRadius = 0.55;

    /// <summary>How far a ball's centre may be from the landmark, interocular distances: the network sees hardly how deep an eye lies.</summary>
    private const double Reach = 0.4;

    /// <summary>The same across the line of sight, where the network errs by a few hundredths.</summary>
    private const double ReachAcross = 0.15;

    /// <summary>A cap that shows less of its ball than this hardly tells how deep its centre lies ...</summary>
    private const double LeastCoverage = 0.5;

    /// <summary>
    /// ... and counts only this near to where the network expects the centre, interocular distances. Of 1,523 balls fitted on
    /// generated heads 203 moved the centre by more; the network was nearer to the truth on 182: lids, hair, bits of broken meshes.
    /// </summary>
    private const double ReachOfCaps = 0.1;

    /// <summary>How far the front of an eye may lie behind and ahead of the middle between the canthi, interocular distances; in life it is about 0.1 ahead.</summary>
    private const double MostBehindLids = 0.15, MostAheadOfLids = 0.35;

    /// <summary>Root mean square residual over radius above which a piece is no ball.</summary>
    private const double MostRoughness = 0.12;

    private const int FewestVertices = 12;

    /// <summary>Finds one eyeball.</summary>
    /// <param name="landmark">The eye centre that the network found, head frame.</param>
    /// <param name="lids">Middle between the canthi, head frame; null when they weren't found.</param>
    /// <param name="pieces">Vertices of each connected piece of the scan that is no larger than an eye can be, head frame.</param>
    public static Eyeball Find(Landmark landmark, Vector3d? lids, IReadOnlyList<Vector3d[]> pieces)
    {
        ArgumentNullException.ThrowIfNull(landmark);
        ArgumentNullException.ThrowIfNull(pieces);
        return Ball(landmark, lids, pieces)
            ?? Plate(landmark, lids, pieces)
            ?? new(landmark.Position + new Vector3d(0, 0, AheadOfLandmark), AdultRadius, false, landmark.Covariance.Trace / 3);
    }

    private static Eyeball? Ball(Landmark landmark, Vector3d? lids, IReadOnlyList<Vector3d[]> pieces)
    {
        const double CentreSigma = 0.005;
        Eyeball? best = null;
        double bestScore = 0;
        foreach (Vector3d[] piece in pieces)
        {
            if (piece.Length < FewestVertices || SphereFit.TryFit(piece) is not { } fit
                || fit.Radius is < LeastRadius or > MostRadius
                || fit.ResidualRms > MostRoughness * fit.Radius
                || !Agrees(fit.Centre, fit.Centre.Z + fit.Radius, landmark.Position, lids))
            {
                continue;
            }

            // The largest and roundest piece is the ball; cornea, iris and shells lie inside or just around it.
            double coverage = Coverage(piece, fit.Centre);
            if (coverage < LeastCoverage && FromExpected(fit.Centre, landmark.Position) > ReachOfCaps)
            {
                continue;
            }

            double score = coverage * (1 - (fit.ResidualRms / (MostRoughness * fit.Radius)))
                * Math.Exp(-Vector3d.Distance(fit.Centre, landmark.Position) / Reach);
            if (score > bestScore)
            {
                bestScore = score;
                best = new Eyeball(fit.Centre, fit.Radius, true, CentreSigma * CentreSigma);
            }
        }

        return best;
    }

    // The broadest plate: an iris on it is a plate too.
    private static Eyeball? Plate(Landmark landmark, Vector3d? lids, IReadOnlyList<Vector3d[]> pieces)
    {
        Eyeball? best = null;
        foreach (Vector3d[] piece in pieces)
        {
            if (EyePlate.Of(piece) is { } plate
                && plate.Breadth / 2 is >= LeastRadius and <= MostRadius
                && plate.Breadth / 2 > (best?.Radius ?? 0)
                && Agrees(plate.Middle, plate.Middle.Z, landmark.Position, lids))
            {
                best = plate.Ball;
            }
        }

        return best;
    }

    private static bool Agrees(Vector3d middle, double front, Vector3d landmark, Vector3d? lids)
    {
        Vector3d off = middle - landmark;
        return off.Length <= Reach
            && (off with { Z = 0 }).Length <= ReachAcross
            && (lids is null || (front - lids.Value.Z is >= -MostBehindLids and <= MostAheadOfLids));
    }

    // Distance from the line between where balls of the network's teaching and of life have their centres.
    private static double FromExpected(Vector3d centre, Vector3d landmark)
    {
        Vector3d off = centre - landmark;
        return (off with { Z = off.Z - Math.Clamp(off.Z, 0, AheadOfLandmark) }).Length;
    }

    // Share of 26 directions from the centre near which the piece has a vertex.
    private static double Coverage(Vector3d[] piece, Vector3d centre)
    {
        int covered = 0;
        for (int direction = 0; direction < 27; direction++)
        {
            var d = new Vector3d((direction % 3) - 1, (direction / 3 % 3) - 1, (direction / 9) - 1);
            if (d == Vector3d.Zero)
            {
                continue;
            }

            Vector3d unit = d.Normalized();
            foreach (Vector3d p in piece)
            {
                if (Vector3d.Dot((p - centre).Normalized(), unit) > 0.9)
                {
                    covered++;
                    break;
                }
            }
        }

        return covered / 26.0;
    }
}
