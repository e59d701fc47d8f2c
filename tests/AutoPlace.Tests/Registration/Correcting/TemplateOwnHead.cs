using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;
using AutoPlace.Template;

namespace AutoPlace.Tests.Registration.Correcting;

/// <summary>The built-in template's own head with the full lattice, ready for corrections.</summary>
internal static class TemplateOwnHead
{
    internal static CorrectableHead Head { get; } = Prepare(p => p);

    /// <summary>The head in another shape.</summary>
    /// <param name="shape">Moves every vertex and joint of the atlas.</param>
    internal static CorrectableHead Prepare(Func<Vector3d, Vector3d> shape)
    {
        TemplateHead template = BuiltInTemplate.Load();
        TriangleMesh atlas = template.Mesh.Triangulate(out int[] faces);
        TriangleMesh mesh = Shaped(atlas, shape);
        int[] skin = [.. Enumerable.Range(0, faces.Length).Where(t => template.FaceParts[faces[t]] == "skin")];
        JointPlacement[] joints = [.. template.Lattice.Joints.Select(joint => new JointPlacement
        {
            Joint = joint,
            Position = shape(joint.Position),
            Rotation = joint.Rotation,
            State = JointState.Modelled,
            LocalSize = 1,
            Lift = joint.Lift,
            Radius90 = 0.05,
        })];
        return new CorrectableHead(
            new LatticePlacement(joints, template.Lattice.Rows, template.Lattice.Columns),
            SkinSurface.Of(mesh, skin, []),
            mesh,
            () => new AtlasSkin(atlas.Subset(skin), mesh.Subset(skin)),
            template.Mesh);
    }

    internal static double Distance(LatticePlacement a, LatticePlacement b, string joint) =>
        Vector3d.Distance(At(a, joint).Position, At(b, joint).Position);

    internal static JointPlacement At(LatticePlacement placement, string joint) => placement.Joints.Single(j => j.Joint.Name == joint);

    private static TriangleMesh Shaped(TriangleMesh mesh, Func<Vector3d, Vector3d> shape) =>
        mesh.WithPositions([.. mesh.Positions.ToArray().Select(p => (System.Numerics.Vector3)shape(p))]);
}
