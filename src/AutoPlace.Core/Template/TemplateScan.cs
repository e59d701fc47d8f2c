using AutoPlace.Import;

namespace AutoPlace.Template;

/// <summary>A template's own head, as if it had been read from a file: atlas coordinates and unit.</summary>
public static class TemplateScan
{
    /// <summary>The reference mesh with its parts.</summary>
    public static HeadScan Of(TemplateHead template)
    {
        ArgumentNullException.ThrowIfNull(template);
        string[] parts = [.. template.FaceParts.Distinct()];
        return new HeadScan
        {
            Source = template.Name,
            Sha256 = template.Sha256,
            Format = MeshFormat.Gltf,
            MetresPerUnit = null,
            Mesh = template.Mesh,
            Parts = [.. parts.Select(part => new MeshPart(part, null))],
            FaceParts = [.. template.FaceParts.Select(part => Array.IndexOf(parts, part))],
        };
    }
}
