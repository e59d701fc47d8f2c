using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>How large each region of a lattice is on a head, over its size in the atlas.</summary>
internal sealed class RegionScales
{
    private readonly Dictionary<(string?, Side?), double> _scales = [];

    /// <summary>Measures each region and side: root mean square distance from the centroid, mapped over unmapped.</summary>
    public RegionScales(PreparedTemplate template, JointLattice lattice, HeadWarp warp)
    {
        foreach (IGrouping<(string?, Side?), ControlJoint> region in lattice.Joints.GroupBy(j => (j.Region, j.Side)))
        {
            Vector3d[] atlas = [.. region.Select(j => j.SkinPoint ?? j.Position)];
            Vector3d[] head = [.. region.Select((j, i) => warp.ApplyOnLip(atlas[i], template.LipOf(j)))];
            double before = Spread(atlas), after = Spread(head);
            _scales[region.Key] = before > 1e-3
                ? after / before
                : warp.LocalSimilarity(atlas[0]).Scale;
        }
    }

    /// <summary>Scale of a joint's region.</summary>
    public double Of(ControlJoint joint) => _scales[(joint.Region, joint.Side)];

    private static double Spread(Vector3d[] points)
    {
        Vector3d centre = Vector3d.Zero;
        foreach (Vector3d p in points)
        {
            centre += p / points.Length;
        }

        return Math.Sqrt(points.Sum(p => (p - centre).LengthSquared) / points.Length);
    }
}
