using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Conditioning;

/// <summary>
/// Where in a file a head may be, for one facing: the mesh's top is taken for the vertex of the head, and the head's
/// size is tried from "the whole mesh is a head" to "a small head on a tall body".
/// </summary>
public static class HeadCrops
{
    /// <summary>Height of a head, vertex to menton, in interocular distances (mean of ANSUR II: 0.23 m over 0.063 m).</summary>
    private const double HeadHeight = 3.65;

    /// <summary>Distance of the eyes below the vertex in interocular distances: half of the head's height (common practice, no source).</summary>
    private const double EyesBelowVertex = HeadHeight / 2;

    /// <summary>Distance of the eyes below the top of a mesh that is a face alone.</summary>
    private const double EyesBelowBrow = 0.6;

    /// <summary>Distance of the eyes in front of the middle between the back of the head and the nose's tip in interocular distances (median of the development heads).</summary>
    private const double EyesInFront = 0.97;

    /// <summary>Least distance of the eyes behind the nose's tip in interocular distances (median of the development heads).</summary>
    private const double EyesBehindNose = 0.45;

    /// <summary>
    /// Share of the mesh's height that a head takes: with neck, a bust, a face alone (whose top is the brow), a figure of
    /// a child's proportions, an adult. Steps of about 1.8: the landmark network knows heads a third too large or too small.
    /// </summary>
    private static readonly double[] HeadShares = [0.85, 0.45, 1.4, 0.25, 0.14];

    /// <summary>Candidate frames for one facing, the likeliest size first.</summary>
    /// <param name="positions">V positions, file coordinates.</param>
    /// <param name="facing">The facing to try.</param>
    /// <returns>One frame for each size; empty when the mesh has no extent.</returns>
    public static IReadOnlyList<HeadFrame> Candidates(ReadOnlySpan<Vector3> positions, Facing facing)
    {
        if (positions.IsEmpty)
        {
            return [];
        }

        (double bottom, double top) = Extent(positions, facing.Up, double.NegativeInfinity, facing.Up);
        double height = top - bottom;
        if (!(height > 0))
        {
            return [];
        }

        var frames = new List<HeadFrame>(HeadShares.Length);
        foreach (double share in HeadShares)
        {
            double interocular = height * share / HeadHeight;
            double floor = top - (Math.Min(share, 1) * height);
            (double right, double left) = Extent(positions, facing.Left, floor, facing.Up);
            (double back, double front) = Extent(positions, facing.Front, floor, facing.Up);

            // A face without the back of the head is shallower than the rule for whole heads assumes.
            double eyes = Math.Max(((back + front) / 2) + (EyesInFront * interocular), front - (0.75 * interocular));
            Vector3d origin = (facing.Left * ((left + right) / 2))
                + (facing.Up * (top - ((share > 1 ? EyesBelowBrow : EyesBelowVertex) * interocular)))
                + (facing.Front * Math.Min(eyes, front - (EyesBehindNose * interocular)));
            frames.Add(new HeadFrame(origin, facing.Left, facing.Up, facing.Front, interocular));
        }

        return frames;
    }

    // Range of the positions along an axis, of those at least `floor` high.
    private static (double Min, double Max) Extent(ReadOnlySpan<Vector3> positions, Vector3d axis, double floor, Vector3d up)
    {
        (Vector3 along, Vector3 upward) = ((Vector3)axis, (Vector3)up);
        (float min, float max) = (float.PositiveInfinity, float.NegativeInfinity);
        foreach (Vector3 p in positions)
        {
            if (Vector3.Dot(p, upward) >= floor)
            {
                float at = Vector3.Dot(p, along);
                min = Math.Min(min, at);
                max = Math.Max(max, at);
            }
        }

        return (min, max);
    }
}
