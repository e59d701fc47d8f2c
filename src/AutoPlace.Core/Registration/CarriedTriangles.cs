using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>The same triangles on the template's head and on another one: joints keep their place to the triangle under them.</summary>
internal sealed class CarriedTriangles
{
    /// <summary>Radius that holds a carried joint with 90 % confidence, interocular distances: what loops of one topology are moved along the skin by (own choice).</summary>
    public const double Radius90 = 0.005;

    private readonly TriangleMesh _template;
    private readonly TriangleMesh _head;
    private readonly BoundingVolumeHierarchy _skin;
    private readonly int[] _skinTriangles;

    /// <param name="template">The template.</param>
    /// <param name="headMesh">The head's triangles over the template's vertices, head frame.</param>
    public CarriedTriangles(TemplateHead template, TriangleMesh headMesh)
    {
        _head = headMesh;
        _template = headMesh.WithPositions(template.Mesh.Positions.ToArray());

        // Triangles come face by face, each corner beyond the second with one.
        var skin = new List<int>();
        for (int f = 0, t = 0; f < template.Mesh.FaceCount; f++)
        {
            int end = t + template.Mesh.Face(f).Length - 2;
            for (; t < end; t++)
            {
                if (template.FaceParts[f] == "skin")
                {
                    skin.Add(t);
                }
            }
        }

        _skinTriangles = [.. skin];
        _skin = new BoundingVolumeHierarchy(_template.Subset(_skinTriangles));
    }

    /// <summary>Places a joint that rides on the skin: from its point of the triangle by the same offset in the triangle's own frame.</summary>
    /// <returns>The placement, not turned yet.</returns>
    public JointPlacement Place(ControlJoint joint)
    {
        SurfacePoint near = _skin.ClosestPoint((Vector3)joint.SkinPoint!.Value).Point;
        SurfacePoint under = near with { Triangle = _skinTriangles[near.Triangle] };
        Matrix3d before = Frame(_template, under.Triangle), after = Frame(_head, under.Triangle);
        Matrix3d change = before.Determinant == 0 ? Matrix3d.Identity : after * before.Inverse();
        double size = Math.Cbrt(Math.Abs(change.Determinant));
        return new JointPlacement
        {
            Joint = joint,
            Position = _head.Position(under) + (change * (joint.Position - _template.Position(under))),
            Rotation = joint.Rotation,
            State = JointState.Modelled,
            LocalSize = size,
            Lift = joint.Lift * size,
            Radius90 = Radius90,
            SkinPoint = under,
        };
    }

    // Two edges and the normal, as long as the square root of the triangle's doubled area.
    private static Matrix3d Frame(TriangleMesh mesh, int triangle)
    {
        (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(triangle);
        Vector3d first = (Vector3d)b - a, second = (Vector3d)c - a;
        Vector3d area = Vector3d.Cross(first, second);
        return Matrix3d.FromColumns(first, second, area / Math.Sqrt(Math.Max(area.Length, double.Epsilon)));
    }
}
