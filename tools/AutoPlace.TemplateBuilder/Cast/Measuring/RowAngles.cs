using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>How rows and columns that follow the quads of the template's own head lie to those of another one.</summary>
internal static class RowAngles
{
    /// <summary>A row follows the quads within so many radians, where the faces around agree by so much on which way they run.</summary>
    private const double Follows = Math.PI / 12, Agreement = 0.6;

    /// <summary>For each span that follows the quads, and isn't laid on a loop, by how much it lies otherwise than on the template's own head; degrees, ascending.</summary>
    /// <param name="template">The template.</param>
    /// <param name="placed">A head that it was placed on.</param>
    public static double[] Of(TemplateHead template, PlacementResult placed)
    {
        PolygonMesh own = template.Mesh;
        int[] skin = [.. Enumerable.Range(0, own.FaceCount).Where(f => template.FaceParts[f] == "skin").SelectMany(f => own.Face(f).ToArray())];
        var prepared = new PreparedTemplate(template);
        TriangleMesh head = placed.HeadMesh;
        Vector3[] normals = VertexNormals.AngleWeighted(head);
        EdgeFlow before = new(own, own.Positions, skin), after = new(placed.Scan.Mesh, head.Positions, head.Indices);
        var joints = placed.Placement.Joints.ToDictionary(joint => joint.Joint.Name, StringComparer.Ordinal);
        var degrees = new List<double>();
        foreach (JointSequence row in placed.Placement.Rows.Concat(placed.Placement.Columns).Where(row => !row.Name.StartsWith("lid_", StringComparison.Ordinal) && !row.Name.StartsWith("lip_", StringComparison.Ordinal)))
        {
            foreach ((string first, string second) in row.Joints.Zip(row.Joints.Skip(1)))
            {
                (JointPlacement a, JointPlacement b) = (joints[first], joints[second]);
                if (a.Joint.SkinPoint is not { } p || b.Joint.SkinPoint is not { } q || a.SkinPoint is not { } s || b.SkinPoint is not { } t)
                {
                    continue;
                }

                (double turn, double agreement) = before.Between(p, q, (prepared.SkinNormal(a.Joint) + prepared.SkinNormal(b.Joint)).Normalized());
                (double turned, double agreed) = after.Between(head.Position(s), head.Position(t), (Normal(s) + Normal(t)).Normalized());
                if (Math.Abs(turn) <= Follows && agreement >= Agreement && agreed >= Agreement)
                {
                    degrees.Add(Math.Abs(turned - turn) * (180 / Math.PI));
                }
            }
        }

        return [.. degrees.Order()];

        Vector3d Normal(SurfacePoint point) => normals[head.Indices[3 * point.Triangle]];
    }
}
