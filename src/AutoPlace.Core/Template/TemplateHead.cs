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

    /// <summary>Part of faces that belong to a head which is carried, not to the template.</summary>
    internal const string ForeignPart = "foreign";

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

    /// <summary>An empty <see cref="JointsOffSkin"/>.</summary>
    internal static IReadOnlySet<string> NoJoints { get; } = new HashSet<string>();

    /// <summary>Names of the joints that ride on skin which was left out of <see cref="Mesh"/>, because the head that it is numbered as hasn't it.</summary>
    internal IReadOnlySet<string> JointsOffSkin { get; init; } = NoJoints;

    /// <summary>
    /// This template with the vertices and faces of its head numbered as those of a mesh that has its skin, or at least half
    /// of it, in the same connectivity; itself when all are already. Faces that the mesh doesn't have are left out, those
    /// that only the mesh has belong to the part <see cref="ForeignPart"/>, as they lie on the mesh. Joints and landmarks are
    /// known by place and stay.
    /// </summary>
    /// <param name="mesh">The mesh.</param>
    /// <returns>Null when the mesh hasn't so much of the template's skin, or it isn't under most of the joints that ride on skin.</returns>
    public TemplateHead? NumberedAs(PolygonMesh mesh)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        if (mesh.VertexCount == Mesh.VertexCount && mesh.FaceStarts.SequenceEqual(Mesh.FaceStarts) && mesh.FaceVertices.SequenceEqual(Mesh.FaceVertices))
        {
            return this;
        }

        if (SharedTopology.Find(this, mesh) is not { } shared || shared.JointsOffSkin(this) is not { } offSkin)
        {
            return null;
        }

        SimilarityTransform toOwn = ProcrustesAlignment.Align(
            [.. shared.Vertices.Select(v => (Vector3d)mesh.Positions[v.Other])], [.. shared.Vertices.Select(v => (Vector3d)Mesh.Positions[v.Own])]);
        Vector3[] positions = [.. mesh.Positions.ToArray().Select(p => (Vector3)toOwn.Apply(p))];
        Vector3[]? atlas = AtlasPositions is null ? null : [.. positions];
        foreach ((int own, int other) in shared.Vertices)
        {
            positions[other] = Mesh.Positions[own];
            if (atlas is not null)
            {
                atlas[other] = AtlasPositions!.Value.Span[own];
            }
        }

        string[] parts = [.. Enumerable.Repeat(ForeignPart, mesh.FaceCount)];
        foreach ((int own, int other) in shared.Faces)
        {
            parts[other] = FaceParts[own];
        }

        return this with
        {
            Mesh = mesh.WithPositions(positions),
            AtlasPositions = atlas is null ? (ReadOnlyMemory<Vector3>?)null : atlas,
            FaceParts = parts,
            JointsOffSkin = offSkin,
            EyeballRadius = EyeballRadius ?? (parts.Any(IsEyeball) ? null : MeanEyeballRadius()),
        };
    }

    /// <summary>Mean distance of the eyeballs' faces from the centres of the eyes, interocular distances.</summary>
    /// <exception cref="ArgumentException">The mesh has no faces of the parts "eyeball_left" and "eyeball_right".</exception>
    internal double MeanEyeballRadius()
    {
        double sum = 0;
        int count = 0;
        for (int f = 0; f < Mesh.FaceCount; f++)
        {
            if (IsEyeball(FaceParts[f]))
            {
                Vector3d centre = Landmarks[FaceParts[f] == "eyeball_left" ? "eye_centre_left" : "eye_centre_right"];
                foreach (int v in Mesh.Face(f))
                {
                    sum += Vector3d.Distance(Mesh.Positions[v], centre);
                    count++;
                }
            }
        }

        return count > 0 ? sum / count : throw new ArgumentException($"Template '{Name}' has no face of part 'eyeball_left'.");
    }

    private static bool IsEyeball(string part) => part is "eyeball_left" or "eyeball_right";
}
