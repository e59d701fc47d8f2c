using AutoPlace.Geometry;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Heads;
using AutoPlace.TemplateBuilder.Heads.Modelled;
using AutoPlace.TemplateBuilder.Lattice;
using AutoPlace.TemplateBuilder.Sources;

namespace AutoPlace.TemplateBuilder;

/// <summary>From the morphable mean to the built-in template.</summary>
internal sealed class TemplateBuild
{
    private const string Notice =
        "The reference head is AutoPlace's own mesh, shaped after the mean of the ICT Face Model Light, "
        + "Copyright (c) 2020 USC Institute for Creative Technologies, MIT License; see THIRD-PARTY-NOTICES.txt.";

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
        var builder = new PolygonMeshBuilder();
        HalfHead half = ModelledHead.Build(_mean.Skin, _guides);
        half.AddTo(builder);
        Eyeballs.Add(builder, _guides.EyeCentre);
        Dentition.Add(builder, _guides);
        (PolygonMesh mesh, string[] parts) = builder.Build();
        SkinSurface skin = new(Part(mesh, parts, "skin"));
        Dictionary<string, Vector3d> landmarks = TemplateLandmarks.Build(_guides, point => skin.Closest(point).Point);

        // How the face lies at large is read off the mean: the lids' lining would tilt it.
        SkinContact Contact(Vector3d guide)
        {
            SkinContact contact = skin.Closest(guide);
            return contact with { BroadNormal = _mean.Skin.Closest(contact.Point).BroadNormal };
        }

        return new TemplateHead
        {
            Name = "built-in",
            Version = "1.0",
            Sha256 = string.Empty,
            Notice = Notice,
            Mesh = mesh,
            FaceParts = parts,
            Landmarks = landmarks,
            Lattice = BuiltInLattice.Build(_guides, landmarks, ModelledHead.Loops(half), Contact),
            ReducedJoints = BuiltInLattice.Reduced,
            Coverage = StandardCoverage.Table,
        };
    }

    private static TriangleMesh Part(PolygonMesh mesh, string[] parts, string part)
    {
        TriangleMesh all = mesh.Triangulate(out int[] faces);
        int[] indices = [.. Enumerable.Range(0, all.TriangleCount).Where(t => parts[faces[t]] == part).SelectMany(t => all.Indices.Slice(3 * t, 3).ToArray())];
        return new TriangleMesh(all.Positions.ToArray(), indices);
    }
}
