using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Lattice;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>The template's mesh in a puppet's shape: what the puppet's own mesh is laid on.</summary>
internal sealed class WarpedHead
{
    /// <summary>The lids' lining behind their free margin, which the template counts as skin.</summary>
    public const string LidLining = "lid_lining";

    private readonly PolygonMesh _template;
    private readonly PolygonMesh _mesh;
    private readonly string[] _parts;

    public WarpedHead(TemplateHead template, PuppetShape shape)
    {
        Shape = shape;
        _template = template.Mesh;
        _mesh = template.Mesh.WithPositions([.. template.Mesh.Positions.ToArray().Select(p => (Vector3)shape.Apply(p))]);
        Vector3d eye = template.Landmarks["eye_centre_left"];
        _parts = [.. template.FaceParts.Select((part, f) => part == "skin" && IsLining(f) ? LidLining : part)];

        // The lining slides along the ball, at one distance from its centre; nothing else lies so close behind it.
        bool IsLining(int face) => template.Mesh.Face(face).ToArray().Count(v =>
        {
            const double LiningRadius = MeanGuides.BallRadius + 0.0097, Rounding = 1e-4;
            Vector3d p = template.Mesh.Positions[v];
            return Math.Abs(Vector3d.Distance(p with { X = Math.Abs(p.X) }, eye) - LiningRadius) < Rounding;
        }) >= 2;
    }

    public PuppetShape Shape { get; }

    /// <summary>Triangles of the named parts and the part of each.</summary>
    public (TriangleMesh Mesh, string[] Parts) Triangles(params string[] parts)
    {
        TriangleMesh all = _mesh.Triangulate(out int[] faces);
        int[] kept = [.. Enumerable.Range(0, all.TriangleCount).Where(t => parts.Contains(_parts[faces[t]]))];
        return (new TriangleMesh(all.Positions.ToArray(), [.. kept.SelectMany(t => all.Indices.Slice(3 * t, 3).ToArray())]), [.. kept.Select(t => _parts[faces[t]])]);
    }

    /// <summary>The same triangles of the named parts in the puppet's and in the template's shape.</summary>
    public (TriangleMesh Puppet, TriangleMesh Template) Pair(params string[] parts)
    {
        TriangleMesh puppet = Triangles(parts).Mesh;
        return (puppet, puppet.WithPositions(_template.Positions.ToArray()));
    }

    /// <summary>Quads of the named parts, as the template has them.</summary>
    public IEnumerable<(string Part, Vector3d[] Corners, int[] Vertices)> Faces(params string[] parts) =>
        Enumerable.Range(0, _mesh.FaceCount).Where(f => parts.Contains(_parts[f]))
            .Select(f => (_parts[f], _mesh.Face(f).ToArray().Select(v => (Vector3d)_mesh.Positions[v]).ToArray(), _mesh.Face(f).ToArray()));
}
