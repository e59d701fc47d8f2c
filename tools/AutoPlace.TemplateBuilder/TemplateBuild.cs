using AutoPlace.Geometry;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Heads;
using AutoPlace.TemplateBuilder.Lattice;
using AutoPlace.TemplateBuilder.Sources;

namespace AutoPlace.TemplateBuilder;

/// <summary>From the morphable mean to the built-in template.</summary>
internal sealed class TemplateBuild
{
    private const string Notice =
        "The reference head is AutoPlace's own mesh, shaped after the mean of the ICT Face Model Light, "
        + "Copyright (c) 2020 USC Institute for Creative Technologies, MIT License; see THIRD-PARTY-NOTICES.txt.";

    // Sphere fitted to the mean's sclera, interocular distances.
    private const double BallRadius = 0.2403;

    private readonly MorphableMean _mean;
    private readonly MeanGuides _guides;

    /// <param name="morphableFolder">Folder of the morphable model.</param>
    public TemplateBuild(string morphableFolder)
    {
        _mean = MorphableMean.Load(morphableFolder);
        _guides = new MeanGuides(_mean);
    }

    /// <summary>Builds the template; the checksum stays empty until it is read back from its file.</summary>
    public TemplateHead Template()
    {
        var envelope = new HeadEnvelope(_mean.Skin.Mesh, _guides.EyeCentre, BallRadius);
        (PolygonMesh mesh, string[] parts) = CoarseHead.Build(envelope, _guides.EyeCentre, BallRadius);
        return new TemplateHead
        {
            Name = "built-in",
            Version = "0.1",
            Sha256 = string.Empty,
            Notice = Notice,
            Mesh = mesh,
            FaceParts = parts,
            Landmarks = TemplateLandmarks.Build(_guides),
            Lattice = BuiltInLattice.Build(_guides, OnFace),
            ReducedJoints = BuiltInLattice.Reduced,
            Coverage = StandardCoverage.Table,
        };
    }

    /// <summary>Writes the demonstration heads and their true joints.</summary>
    public void WriteDemoHeads(string folder) => DemoHeads.Write(_mean.Skin.Mesh, Template(), BallRadius, folder);

    // A guide at infinite z means: straight back onto the face.
    private SkinContact OnFace(Vector3d guide) =>
        double.IsPositiveInfinity(guide.Z)
            ? _mean.Skin.FromOutside(guide with { Z = 0 }, -Vector3d.UnitZ) ?? throw new InvalidOperationException($"No skin behind {guide}.")
            : _mean.Skin.Closest(guide);
}
