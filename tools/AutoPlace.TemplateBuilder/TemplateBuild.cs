using AutoPlace.Geometry;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Heads;
using AutoPlace.TemplateBuilder.Lattice;
using AutoPlace.TemplateBuilder.Sources;

namespace AutoPlace.TemplateBuilder;

/// <summary>From the morphable mean to the built-in template.</summary>
internal static class TemplateBuild
{
    private const string Notice =
        "The reference head is AutoPlace's own mesh, shaped after the mean of the ICT Face Model Light, "
        + "Copyright (c) 2020 USC Institute for Creative Technologies, MIT License; see THIRD-PARTY-NOTICES.txt.";

    public static TemplateHead Run(string morphableFolder)
    {
        MorphableMean mean = MorphableMean.Load(morphableFolder);
        var guides = new MeanGuides(mean);
        (PolygonMesh mesh, string[] parts) = CoarseHead.Build(mean.Skin);
        JointLattice lattice = BuiltInLattice.Build(guides, OnFace(mean.Skin));
        return new TemplateHead
        {
            Name = "built-in",
            Version = "0.1",
            Sha256 = string.Empty,
            Notice = Notice,
            Mesh = mesh,
            FaceParts = parts,
            Landmarks = TemplateLandmarks.Build(guides),
            Lattice = lattice,
            ReducedJoints = BuiltInLattice.Reduced,
            Coverage = StandardCoverage.Table,
        };
    }

    // A guide at infinite z means: straight back onto the face.
    private static Func<Vector3d, SkinContact> OnFace(SkinSurface skin) => guide =>
        double.IsPositiveInfinity(guide.Z)
            ? skin.FromOutside(guide with { Z = 0 }, -Vector3d.UnitZ) ?? throw new InvalidOperationException($"No skin behind {guide}.")
            : skin.Closest(guide);
}
