using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>
/// A reference head with its landmarks and its lattice, embedded in the atlas. All coordinates are those of its own head
/// frame, in interocular distances; where <see cref="AtlasPositions"/> is null, the head was shaped after the atlas and
/// these are atlas coordinates at the same time (head frame of the training mean, interocular distance 1).
/// </summary>
public sealed record TemplateHead
{
    /// <summary>An empty <see cref="Coverage"/>.</summary>
    internal static IReadOnlyDictionary<string, IReadOnlyList<string>> NoCoverage { get; } =
        new Dictionary<string, IReadOnlyList<string>>(StringComparer.Ordinal);

    /// <summary>Name of the template.</summary>
    public required string Name { get; init; }

    /// <summary>Version of the template.</summary>
    public required string Version { get; init; }

    /// <summary>SHA-256 of the file that it was read from, lower-case hexadecimal.</summary>
    public required string Sha256 { get; init; }

    /// <summary>Licence notice of what the reference head was shaped after, if there is any.</summary>
    public string? Notice { get; init; }

    /// <summary>The reference mesh.</summary>
    public required PolygonMesh Mesh { get; init; }

    /// <summary>For each face of <see cref="Mesh"/> the name of its part (skin, eyeball_left, teeth_upper, …).</summary>
    public required IReadOnlyList<string> FaceParts { get; init; }

    /// <summary>
    /// For each vertex of <see cref="Mesh"/> the point of the atlas that it corresponds to; null where the mesh was
    /// shaped after the atlas itself, so that every vertex is its own atlas point.
    /// </summary>
    public ReadOnlyMemory<Vector3>? AtlasPositions { get; init; }

    /// <summary>Landmarks of the reference mesh by name.</summary>
    public required IReadOnlyDictionary<string, Vector3d> Landmarks { get; init; }

    /// <summary>Mean radius of the eyeballs, interocular distances; null where the mesh has faces of the parts "eyeball_left" and "eyeball_right" that tell.</summary>
    public double? EyeballRadius { get; init; }

    /// <summary>The whole lattice.</summary>
    public required JointLattice Lattice { get; init; }

    /// <summary>Names of the joints of the reduced level, a subset of the whole lattice; empty where the template has only one level.</summary>
    public required IReadOnlyList<string> ReducedJoints { get; init; }

    /// <summary>
    /// Which joints serve a unit of a standard: action units of the Facial Action Coding System ("FACS 12") and face
    /// joints of H-Anim ("H-Anim temporomandibular"). Empty where a template doesn't say.
    /// </summary>
    public IReadOnlyDictionary<string, IReadOnlyList<string>> Coverage { get; init; } = NoCoverage;

    /// <summary>
    /// This template with the vertices and faces of its head numbered as those of a mesh of the same connectivity; itself
    /// when they are already. Joints and landmarks are known by place and stay.
    /// </summary>
    /// <param name="mesh">The mesh.</param>
    /// <returns>Null when the connectivity differs.</returns>
    public TemplateHead? NumberedAs(PolygonMesh mesh)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        if (mesh.VertexCount == Mesh.VertexCount && mesh.FaceStarts.SequenceEqual(Mesh.FaceStarts) && mesh.FaceVertices.SequenceEqual(Mesh.FaceVertices))
        {
            return this;
        }

        if (MeshRenumbering.Find(Mesh, mesh) is not { } numbers)
        {
            return null;
        }

        var positions = new Vector3[mesh.VertexCount];
        Vector3[]? atlas = AtlasPositions is null ? null : new Vector3[mesh.VertexCount];
        for (int v = 0; v < positions.Length; v++)
        {
            positions[numbers.Vertices[v]] = Mesh.Positions[v];
            if (atlas is not null)
            {
                atlas[numbers.Vertices[v]] = AtlasPositions!.Value.Span[v];
            }
        }

        string[] parts = new string[mesh.FaceCount];
        for (int f = 0; f < parts.Length; f++)
        {
            parts[numbers.Faces[f]] = FaceParts[f];
        }

        return this with { Mesh = mesh.WithPositions(positions), AtlasPositions = atlas is null ? (ReadOnlyMemory<Vector3>?)null : atlas, FaceParts = parts };
    }
}
