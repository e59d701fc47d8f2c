using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Verification;

namespace AutoPlace;

/// <summary>A head as it was looked at and understood.</summary>
/// <param name="Surface">What of the scan was looked at.</param>
/// <param name="Place">The last look of the head finder.</param>
/// <param name="Read">What looking at the head found.</param>
/// <param name="Head">The head as understood.</param>
/// <param name="Confidence">How sure that is, without radii of joints.</param>
internal sealed record SeenHead(ScanSurface Surface, FrameScore Place, HeadReading Read, ConditionedHead Head, HeadConfidence Confidence)
{
    /// <summary>Probability from which on a head that was misunderstood is looked at without the parts that may hide its face.</summary>
    private const double InDoubt = 0.5;

    /// <summary>By how much less likely it has to be misunderstood then: of several looks the best one flatters.</summary>
    private const double LeastGain = 0.25;

    /// <summary>A part with a smaller share of the area about the face doesn't hide it; of the others so many are tried.</summary>
    private const double LeastShare = 0.03;

    private const int MostParts = 4;

    /// <summary>About the face, interocular distances from the eyes' midpoint: to the sides, down, up, and back.</summary>
    private const float Sideways = 1, Down = 1.9f, Up = 0.7f, Back = 0.7f;

    private double Doubt => Confidence.Misunderstood ?? 0;

    /// <summary>Understands a head that was looked at.</summary>
    /// <param name="calibration">Says how doubtful it is.</param>
    /// <param name="surface">What was looked at.</param>
    /// <param name="place">The last look of the head finder.</param>
    /// <param name="read">What looking at the head found.</param>
    /// <param name="head">The head as understood.</param>
    /// <param name="leftOut">Names of the scan's parts that were left out because they hide the face.</param>
    public static SeenHead Of(
        ConfidenceCalibration? calibration, ScanSurface surface, FrameScore place, HeadReading read, ConditionedHead head, IReadOnlyList<string> leftOut) =>
        new(surface, place, read, head, HeadConfidence.Of(calibration, place.Agreement, surface, read, head) with { LeftOut = leftOut });

    /// <summary>
    /// Looks at a head in doubt again without parts of its file that may hide the face: hair cards, a visor, a mask. Each
    /// try costs as much as reading a head whose place is known.
    /// </summary>
    /// <param name="scan">The scan.</param>
    /// <param name="network">Looks.</param>
    /// <param name="calibration">Says how doubtful a head is; nothing is tried without.</param>
    /// <param name="face">The mean face.</param>
    /// <param name="symmetric">True to treat the head as symmetric whatever its mesh says.</param>
    /// <param name="cancellation">Stops the looking.</param>
    /// <returns>The head as it is clearest.</returns>
    public SeenHead Uncovered(
        HeadScan scan, LandmarkNetwork network, ConfidenceCalibration? calibration, MeanFace face, bool symmetric, CancellationToken cancellation)
    {
        SeenHead seen = this;
        while (seen.Doubt >= InDoubt)
        {
            SeenHead? clearer = null;
            foreach (string part in seen.PartsAboutFace(scan))
            {
                if (Without(part) is { } other && other.Doubt <= (clearer?.Doubt ?? seen.Doubt - LeastGain))
                {
                    clearer = other;
                }
            }

            if (clearer is null)
            {
                break;
            }

            seen = clearer;
        }

        return seen;

        SeenHead? Without(string part)
        {
            string[] leftOut = [.. seen.Confidence.LeftOut, part];
            ScanSurface surface = ScanSurface.Of(scan, [.. scan.Parts.Select(p => p.Name).Except(leftOut)]);
            var detector = new LandmarkDetector(surface, network);
            FrameScore place = detector.Score([seen.Read.Frame], cancellation)[0];
            HeadReading read = HeadReader.Read(surface, detector, place, face, cancellation);
            return read.Likeness >= HeadReading.LeastLikeness
                ? Of(calibration, surface, place, read, ConditionedHead.From(surface, read, symmetric), leftOut) : null;
        }
    }

    // Those with most of the area about the face; none when it is all one part.
    private string[] PartsAboutFace(HeadScan scan)
    {
        double[] areas = new double[scan.Parts.Count];
        for (int t = 0; t < Surface.TriangleMaterials.Length; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = Surface.Mesh.Corners(t);
            var middle = (Vector3)Read.Frame.ToHead((Vector3d)(a + b + c) / 3);
            if (Math.Abs(middle.X) < Sideways && middle.Y is > -Down and < Up && middle.Z > -Back)
            {
                areas[Surface.TriangleMaterials[t]] += Vector3.Cross(b - a, c - a).Length();
            }
        }

        double least = LeastShare * areas.Sum();
        int[] about = [.. Enumerable.Range(0, areas.Length).Where(p => areas[p] > least).OrderByDescending(p => areas[p]).Take(MostParts)];
        return about.Length > 1 ? [.. about.Select(p => scan.Parts[p].Name)] : [];
    }
}
