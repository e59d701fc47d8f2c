using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Export;

/// <summary>A joint to draw.</summary>
/// <param name="Position">Position, head frame, interocular distances.</param>
/// <param name="Region">Region that gives colour and shape, or null.</param>
/// <param name="Scale">Size of the marker relative to the usual one.</param>
public sealed record PictureJoint(Vector3 Position, string? Region, float Scale = 1);

/// <summary>A row or column to draw as a curve.</summary>
/// <param name="Points">The joints' positions in order, head frame, interocular distances.</param>
/// <param name="Region">Region that gives the colour, or null for grey.</param>
/// <param name="Closed">True when the last point is followed by the first.</param>
public sealed record PictureCurve(IReadOnlyList<Vector3> Points, string? Region, bool Closed = false);

/// <summary>What a picture of a lattice shows; everything in the head frame, interocular distances.</summary>
public sealed record PictureContent
{
    /// <summary>A joint so far in front of the eyes is where the face looks, no place on the head; interocular distances.</summary>
    private const float InFront = 2;

    /// <summary>Joints farther from the eyes are a body's; interocular distances.</summary>
    private const float OnHead = 3.5f;

    /// <summary>What is no farther from the box about the joints than this, to the sides, back and front, lies about them; interocular distances.</summary>
    private const float Sideways = 0.6f, Behind = 1.5f, Before = 0.5f;

    /// <summary>A piece of which such a share lies about the joints is the head's, as long hair is.</summary>
    private const double LeastShare = 0.25;

    /// <summary>The head.</summary>
    public required TriangleMesh Mesh { get; init; }

    /// <summary>Unit normals at the head's vertices; empty for flat triangles.</summary>
    public ReadOnlyMemory<Vector3> VertexNormals { get; init; }

    /// <summary>The joints.</summary>
    public IReadOnlyList<PictureJoint> Joints { get; init; } = [];

    /// <summary>Rows and columns.</summary>
    public IReadOnlyList<PictureCurve> Curves { get; init; } = [];

    /// <summary>Landmarks, drawn as crosses.</summary>
    public IReadOnlyList<Vector3> Landmarks { get; init; } = [];

    /// <summary>Edges to draw as a wireframe, pairs of vertices of <see cref="Mesh"/>; see <see cref="ModelledEdges"/>.</summary>
    public IReadOnlyList<(int From, int To)> Edges { get; init; } = [];

    /// <summary>The head of a placement, smooth, with its lattice.</summary>
    public static PictureContent Of(PlacementResult result)
    {
        ArgumentNullException.ThrowIfNull(result);
        return Of(result.HeadMesh, Geometry.VertexNormals.AngleWeighted(result.HeadMesh), result.Placement);
    }

    /// <summary>
    /// Joints, rows and columns of a placement. A row within one region gets its colour; the rest is grey. Connected pieces of
    /// the mesh that lie mostly beside or below the joints, such as another head, a hand or clothes, are left out, and so is what the
    /// face looks at.
    /// </summary>
    /// <param name="mesh">The head, head frame, interocular distances.</param>
    /// <param name="vertexNormals">V unit normals; empty for flat triangles.</param>
    /// <param name="placement">The placed lattice.</param>
    public static PictureContent Of(TriangleMesh mesh, ReadOnlyMemory<Vector3> vertexNormals, LatticePlacement placement)
    {
        ArgumentNullException.ThrowIfNull(placement);
        var byName = new Dictionary<string, JointPlacement>(placement.Joints.Count, StringComparer.Ordinal);
        var joints = new List<PictureJoint>(placement.Joints.Count);
        foreach (JointPlacement joint in placement.Joints)
        {
            byName[joint.Joint.Name] = joint;
            if (joint.Joint.Kind != JointKind.Surface && joint.Position.Z > InFront)
            {
                continue;
            }

            joints.Add(new((Vector3)joint.Position, joint.Joint.Region, joint.Joint.Kind == JointKind.Surface ? 1 : 1.25f));
        }

        var curves = new List<PictureCurve>(placement.Rows.Count + placement.Columns.Count);
        foreach (JointSequence column in placement.Columns)
        {
            curves.Add(Curve(column, byName) with { Region = null });
        }

        foreach (JointSequence row in placement.Rows)
        {
            curves.Add(Curve(row, byName));
        }

        return new() { Mesh = HeadAlone(mesh, joints), VertexNormals = vertexNormals, Joints = joints, Curves = curves };
    }

    /// <summary>The edges of a mesh as modelled, each once, without the diagonals of its triangulation.</summary>
    /// <param name="polygons">The polygons; its vertices are those of the triangle mesh made from it.</param>
    public static IReadOnlyList<(int From, int To)> ModelledEdges(PolygonMesh polygons)
    {
        ArgumentNullException.ThrowIfNull(polygons);
        var seen = new HashSet<(int, int)>();
        var edges = new List<(int, int)>();
        for (int f = 0; f < polygons.FaceCount; f++)
        {
            ReadOnlySpan<int> corners = polygons.Face(f);
            for (int i = 0; i < corners.Length; i++)
            {
                int a = corners[i], b = corners[(i + 1) % corners.Length];
                (int, int) edge = a < b ? (a, b) : (b, a);
                if (seen.Add(edge))
                {
                    edges.Add(edge);
                }
            }
        }

        return edges;
    }

    // The mesh without pieces of which little lies about the joints; what is above them, as a hat, is the head's.
    private static TriangleMesh HeadAlone(TriangleMesh mesh, List<PictureJoint> joints)
    {
        Vector3[] ofHead = [.. joints.Select(joint => joint.Position).Where(position => position.Length() < OnHead)];
        if (ofHead.Length == 0 || mesh.TriangleCount == 0)
        {
            return mesh;
        }

        Vector3 low = ofHead.Aggregate(Vector3.Min) - new Vector3(Sideways, 0, Behind), high = ofHead.Aggregate(Vector3.Max) + new Vector3(Sideways, 0, Before);
        var triangles = new PolygonMesh(mesh.Positions.ToArray(), [.. Enumerable.Range(0, mesh.TriangleCount + 1).Select(t => 3 * t)], mesh.Indices.ToArray());
        MeshComponents pieces = MeshComponents.Of(triangles);
        int[] about = new int[pieces.Count];
        for (int i = 0; i < mesh.Indices.Length; i++)
        {
            Vector3 p = mesh.Positions[mesh.Indices[i]];
            about[pieces.FaceComponents[i / 3]] += p.X > low.X && p.X < high.X && p.Y > low.Y && p.Z > low.Z && p.Z < high.Z ? 1 : 0;
        }

        int most = about.Max(); // of the head itself, in one piece with a body, too
        var kept = new List<int>(mesh.Indices.Length);
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            int piece = pieces.FaceComponents[t];
            if (about[piece] == most || about[piece] > LeastShare * 3 * pieces.FaceCounts[piece])
            {
                kept.AddRange(mesh.Indices.Slice(3 * t, 3));
            }
        }

        return new TriangleMesh(mesh.Positions.ToArray(), [.. kept]);
    }

    private static PictureCurve Curve(JointSequence sequence, Dictionary<string, JointPlacement> byName)
    {
        var points = new List<Vector3>(sequence.Joints.Count);
        string? region = null;
        for (int i = 0; i < sequence.Joints.Count; i++)
        {
            JointPlacement joint = byName[sequence.Joints[i]];
            points.Add((Vector3)joint.Position);
            region = i == 0 || string.Equals(region, joint.Joint.Region, StringComparison.Ordinal) ? joint.Joint.Region : null;
        }

        return new(points, region, sequence.Closed);
    }
}
