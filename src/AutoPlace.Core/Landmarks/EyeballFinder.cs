using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>
/// Finds the eyeballs: pieces of the mesh near an eye's landmark that fit a sphere of an eyeball's size. Where there
/// is none, the ball is inferred from the landmark.
/// </summary>
public static class EyeballFinder
{
    /// <summary>Radius of an adult's eyeball over the interocular distance: 12.0 mm (Bekerman et al. 2014) over 63 mm (Dodgson 2004).</summary>
    public const double AdultRadius = 12.0 / 63;

    private const double LeastRadius = 0.1;
    private const double MostRadius = 0.55;

    /// <summary>How far a ball's centre may be from the landmark, interocular distances.</summary>
    private const double Reach = 0.4;

    /// <summary>Root mean square residual over radius above which a piece is no ball.</summary>
    private const double MostRoughness = 0.12;

    private const int FewestVertices = 12;

    /// <summary>Finds one eyeball.</summary>
    /// <param name="landmark">The eye centre that the network found.</param>
    /// <param name="pieces">Vertices of each connected piece of the scan that is no larger than an eye can be, head frame.</param>
    public static Eyeball Find(Landmark landmark, IReadOnlyList<Vector3d[]> pieces)
    {
        ArgumentNullException.ThrowIfNull(landmark);
        ArgumentNullException.ThrowIfNull(pieces);
        Eyeball best = new(landmark.Position, AdultRadius, false, landmark.Covariance.Trace / 3);
        double bestScore = 0;
        foreach (Vector3d[] piece in pieces)
        {
            if (piece.Length < FewestVertices || SphereFit.TryFit(piece) is not { } fit
                || fit.Radius is < LeastRadius or > MostRadius
                || fit.ResidualRms > MostRoughness * fit.Radius
                || Vector3d.Distance(fit.Centre, landmark.Position) > Reach)
            {
                continue;
            }

            // The largest and roundest piece is the ball; cornea, iris and shells lie inside or just around it.
            double score = Coverage(piece, fit.Centre) * (1 - (fit.ResidualRms / (MostRoughness * fit.Radius)))
                * Math.Exp(-Vector3d.Distance(fit.Centre, landmark.Position) / Reach);
            if (score > bestScore)
            {
                bestScore = score;
                best = new Eyeball(fit.Centre, fit.Radius, true, 0.005 * 0.005);
            }
        }

        return best;
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
