using AutoPlace.Conditioning;
using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>Head frames from dense correspondences.</summary>
public static class FrameEstimator
{
    private const int Rounds = 8;

    /// <summary>Residual, interocular distances, at which a correspondence's weight has dropped to half. Faces differ from the mean by about this much.</summary>
    private const double HalfWeightResidual = 0.12;

    private const int FewestCorrespondences = 40;

    private const double Grid = 256;

    /// <summary>Robust similarity from the atlas to the frame that the correspondences are in.</summary>
    /// <param name="correspondences">Correspondences, any head frame.</param>
    /// <returns>The similarity, and the share of the weight that lies within twice the half-weight residual; null for too few.</returns>
    public static (SimilarityTransform AtlasToHead, double Agreement)? Estimate(IReadOnlyList<Correspondence> correspondences)
    {
        ArgumentNullException.ThrowIfNull(correspondences);
        int n = correspondences.Count;
        if (n < FewestCorrespondences)
        {
            return null;
        }

        var pairs = new WeightedPairs(n);
        for (int i = 0; i < n; i++)
        {
            Correspondence c = correspondences[i];
            pairs.Set(i, c.Atlas, c.Head, 1 / (0.0025 + (c.Sigma * c.Sigma)));
        }

        SimilarityTransform fit = pairs.Align(SimilarityTransform.Identity, double.PositiveInfinity);
        for (int round = 1; round < Rounds; round++)
        {
            fit = pairs.Align(fit, HalfWeightResidual * fit.Scale);
        }

        return (fit, pairs.ShareWithin(fit, 2 * HalfWeightResidual * fit.Scale));
    }

    /// <summary>
    /// The frame to look through next, after a look through an earlier one: that of <see cref="Reframe"/> on a grid of
    /// 1/256 of the earlier one's unit. What rounding moves in a look (another unit in the file, another order of sums)
    /// doesn't move the next one's pixels then.
    /// </summary>
    /// <param name="frame">The earlier frame.</param>
    /// <param name="atlasToHead">Similarity from the atlas to that frame's interocular distances.</param>
    public static HeadFrame NextLook(HeadFrame frame, SimilarityTransform atlasToHead)
    {
        ArgumentNullException.ThrowIfNull(atlasToHead);
        Matrix3d rotation = atlasToHead.Rotation.Transposed();
        Vector3d left = OnGrid(rotation.Row0).Normalized(), up = OnGrid(rotation.Row1);
        up = (up - (left * Vector3d.Dot(left, up))).Normalized();
        return Reframe(frame, new SimilarityTransform(
            OnGrid(atlasToHead.Scale), Matrix3d.FromColumns(left, up, Vector3d.Cross(left, up)), OnGrid(atlasToHead.Translation)));
    }

    private static Vector3d OnGrid(Vector3d v) => new(OnGrid(v.X), OnGrid(v.Y), OnGrid(v.Z));

    private static double OnGrid(double value) => Math.Round(value * Grid, MidpointRounding.AwayFromZero) / Grid;

    /// <summary>The frame in the file that a similarity from the atlas to an earlier frame describes.</summary>
    /// <param name="frame">The earlier frame.</param>
    /// <param name="atlasToHead">Similarity from the atlas to that frame's interocular distances.</param>
    public static HeadFrame Reframe(HeadFrame frame, SimilarityTransform atlasToHead)
    {
        ArgumentNullException.ThrowIfNull(frame);
        ArgumentNullException.ThrowIfNull(atlasToHead);
        Matrix3d columns = atlasToHead.Rotation.Transposed();
        return new HeadFrame(
            frame.ToFile(atlasToHead.Translation),
            frame.DirectionToFile(columns.Row0),
            frame.DirectionToFile(columns.Row1),
            frame.DirectionToFile(columns.Row2),
            frame.InterocularDistance * atlasToHead.Scale);
    }
}
