using AutoPlace.Geometry;

namespace AutoPlace.Import;

/// <summary>Format that a mesh was read from.</summary>
public enum MeshFormat
{
    /// <summary>glTF 2.0, text or binary.</summary>
    Gltf,

    /// <summary>Wavefront OBJ.</summary>
    Obj,

    /// <summary>Stanford PLY.</summary>
    Ply,

    /// <summary>Stereolithography, text or binary.</summary>
    Stl,

    /// <summary>Object File Format (Geomview).</summary>
    Off,
}

/// <summary>Faces that belong together by node (or object) and material.</summary>
/// <param name="Name">Name of the node or object; unique within the file, never empty.</param>
/// <param name="Material">Name of the material, if the file has any.</param>
public sealed record MeshPart(string Name, string? Material);

/// <summary>
/// A file's whole contents as one polygon mesh, in the file's own coordinates, unit and axes: node transforms and
/// default-pose skinning are applied, of a node's faces that lie in exactly the same place the first is kept, positions that coincide exactly are welded within a part's node (on open borders
/// only where the format's faces share vertices), triangles are paired back to quads where the format only knows
/// triangles or where the order of the triangles proves that they were quads, vertices without a face are left out.
/// </summary>
public sealed class HeadScan
{
    /// <summary>Name of the file, without folder.</summary>
    public required string Source { get; init; }

    /// <summary>SHA-256 of the file's bytes, lower-case hexadecimal; where buffers lie in files beside it, of those as well.</summary>
    public required string Sha256 { get; init; }

    /// <summary>Format that it was read from.</summary>
    public required MeshFormat Format { get; init; }

    /// <summary>Metres for each unit where the format defines it (glTF: 1), else null.</summary>
    public required double? MetresPerUnit { get; init; }

    /// <summary>All polygons, file coordinates.</summary>
    public required PolygonMesh Mesh { get; init; }

    /// <summary>The parts, in file order.</summary>
    public required IReadOnlyList<MeshPart> Parts { get; init; }

    /// <summary>For each face of <see cref="Mesh"/> the index of its part.</summary>
    public required IReadOnlyList<int> FaceParts { get; init; }

    /// <summary>Number of faces that were left out because they had fewer than three different vertices.</summary>
    public int DroppedFaces { get; init; }

    /// <summary>Number of faces that were left out because an earlier one of their node lies in the same place: sheets with a polygon for each side.</summary>
    public int DoubledFaces { get; init; }
}
