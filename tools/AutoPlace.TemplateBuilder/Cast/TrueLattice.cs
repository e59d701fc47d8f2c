using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>
/// Where the joints of the template truly are on a puppet: skin joints on the changed skin, lifted along its normal by
/// the template's lift in their region's size; eye joints in their ball's size; all others where the change takes
/// them. No remeshing and no part of the program that is to be measured has a hand in it.
/// </summary>
internal static class TrueLattice
{
    /// <summary>Positions in the order of the template's joints, atlas coordinates.</summary>
    public static Vector3d[] Joints(TemplateHead template, PuppetShape shape)
    {
        Dictionary<(string?, Side?), double> sizes = RegionSizes(template, shape);
        Vector3d[] positions = [.. template.Lattice.Joints.Select(joint => Place(template, joint, shape, sizes[(joint.Region, joint.Side)]))];
        if (shape.IsSymmetric)
        {
            Mirror(template.Lattice.Joints, positions);
        }

        return positions;
    }

    private static Vector3d Place(TemplateHead template, ControlJoint joint, PuppetShape shape, double size)
    {
        if (joint.SkinPoint is { } skin)
        {
            Vector3d normal = (joint.Position - skin).Normalized() * Math.Sign(joint.Lift);
            return shape.Apply(skin) + (shape.Normal(skin, normal) * (joint.Lift * size));
        }

        bool isLeft = joint.Ride == Ride.EyeballLeft;
        if (isLeft || joint.Ride == Ride.EyeballRight)
        {
            // What belongs to an eye belongs to the ball that a flat eye stands for.
            Vector3d pivot = shape.EyePivot;
            Vector3d centre = template.Landmarks[isLeft ? "eye_centre_left" : "eye_centre_right"];
            return (isLeft ? pivot : pivot with { X = -pivot.X }) + ((joint.Position - centre) * shape.EyeSize);
        }

        // Ahead of the eyes by as many of this head's own interocular distances.
        return joint.Kind == JointKind.Attachment
            ? (shape.EyePivot with { X = 0 }) + ((joint.Position - (template.Landmarks["eye_centre_left"] with { X = 0 })) * (2 * shape.EyePivot.X))
            : shape.Apply(joint.Position);
    }

    // Root mean square distance from the region's centroid, after over before; of a single joint, the change's own stretch.
    private static Dictionary<(string?, Side?), double> RegionSizes(TemplateHead template, PuppetShape shape) =>
        template.Lattice.Joints.GroupBy(joint => (joint.Region, joint.Side)).ToDictionary(region => region.Key, region =>
        {
            Vector3d[] before = [.. region.Select(joint => joint.SkinPoint ?? joint.Position)];
            double spread = Spread(before);
            return spread > 0 ? Spread([.. before.Select(shape.Apply)]) / spread : shape.Stretch(before[0]);
        });

    private static double Spread(Vector3d[] points)
    {
        Vector3d centre = points.Aggregate((a, b) => a + b) / points.Length;
        return Math.Sqrt(points.Average(p => (p - centre).LengthSquared));
    }

    // Derivatives are taken by differences, which round differently on either side.
    private static void Mirror(IReadOnlyList<ControlJoint> joints, Vector3d[] positions)
    {
        Dictionary<string, int> index = joints.Select((joint, i) => (joint.Name, i)).ToDictionary(StringComparer.Ordinal);
        for (int i = 0; i < positions.Length; i++)
        {
            if (joints[i].Side == Side.Left)
            {
                positions[index[LandmarkNames.Mirror(joints[i].Name)]] = positions[i] with { X = -positions[i].X };
            }
            else if (joints[i].Side == Side.Middle)
            {
                positions[i] = positions[i] with { X = 0 };
            }
        }
    }
}
