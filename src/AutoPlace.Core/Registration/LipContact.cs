using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// Joints of both lips that face each other where a template's lips touch. Each lip is read by its own skin as far as it can be
/// seen, and smoothly, which draws such joints out of the fold, apart from each other: on a head whose mouth is closed they
/// keep how they lie to each other, and the place between them.
/// </summary>
internal static class LipContact
{
    /// <summary>A joint that is at least so surely of one lip, see <see cref="LipSides"/>, has one of the other that faces it.</summary>
    private const double Sure = 0.3;

    /// <summary>Joints that are farther apart, interocular distances of the template, don't face each other.</summary>
    private const double Reach = 0.06;

    /// <summary>How much of <see cref="LipSides.OpenOf"/> is an open mouth here: lips that are one and a half times as far apart as closed ones may be.</summary>
    private const double Open = 0.25;

    /// <summary>Lays joints that face each other as far apart as on the template.</summary>
    /// <param name="template">The template.</param>
    /// <param name="joints">N joints.</param>
    /// <param name="warp">From the template to the head.</param>
    /// <param name="landmarks">The head's.</param>
    /// <param name="expected">N places; those of joints on lips are set.</param>
    public static void Close(PreparedTemplate template, IReadOnlyList<ControlJoint> joints, HeadWarp warp, IReadOnlyList<Landmark> landmarks, SkinTarget[] expected)
    {
        double closed = Closed(template.Openness) * Closed(LipSides.OpenOf(landmarks));
        if (closed == 0)
        {
            return;
        }

        ILookup<int, int> lips = Enumerable.Range(0, joints.Count)
            .Where(i => joints[i] is { Ride: Ride.Skin, SkinPoint: not null, InFold: true } && Math.Abs(template.LipOf(joints[i])) >= Sure)
            .ToLookup(i => Math.Sign(template.LipOf(joints[i])));
        foreach (int upper in lips[-1].Any() ? lips[1] : [])
        {
            int lower = lips[-1].MinBy(i => Vector3d.Distance(At(i), At(upper)));
            Vector3d apart = At(upper) - At(lower);
            if (apart.Length > Reach || lips[1].MinBy(i => Vector3d.Distance(At(i), At(lower))) != upper)
            {
                continue;
            }

            (Matrix3d rotation, double scale) = warp.LocalSimilarity((At(upper) + At(lower)) * 0.5);
            Vector3d shift = ((rotation * apart * scale) - (expected[upper].Position - expected[lower].Position)) * (closed / 2);
            expected[upper] = expected[upper] with { Position = expected[upper].Position + shift };
            expected[lower] = expected[lower] with { Position = expected[lower].Position - shift };
        }

        Vector3d At(int i) => joints[i].SkinPoint!.Value;
    }

    private static double Closed(double open) => Math.Max(0, 1 - (open / Open));
}
