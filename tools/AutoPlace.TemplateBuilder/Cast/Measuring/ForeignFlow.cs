using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Cast.Files;
using AutoPlace.TemplateBuilder.Cast.Remeshing;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>
/// A puppet in quads that flow otherwise than the template's: strips beside the loops of lids and lips, and across them, are
/// cut in two, so that other loops lie close to those and edges are shorter in places.
/// </summary>
internal static class ForeignFlow
{
    // The template's loops by two joints on each, and the rows that follow them.
    private static readonly (string From, string To, string[] Rows)[] Loops =
    [
        ("endocanthion_left", "exocanthion_left", ["lid_upper_margin_left", "lid_lower_margin_left"]),
        ("endocanthion_right", "exocanthion_right", ["lid_upper_margin_right", "lid_lower_margin_right"]),
        ("lip_corner_left", "lip_corner_right", ["lip_upper_contact", "lip_lower_contact"]),
        ("labiale_superius", "labiale_inferius", ["lip_upper_border", "lip_lower_border"]),
    ];

    // For each puppet by number of the loop: the strip across which of its edges is cut (every so many, 0 for none), and whether those along it are.
    private static readonly Dictionary<string, (int Loop, int Every, bool Beside)[]> Cuts = new(StringComparer.Ordinal)
    {
        ["maren"] = [(0, 0, true), (1, 0, true), (2, 0, true)],
        ["osric"] = [(0, 3, false), (1, 3, false), (2, 4, false), (3, 0, true)],
        ["lysk"] = [(0, 2, true), (1, 2, true), (3, 0, true)],
        ["senna"] = [(0, 4, true), (1, 4, true), (2, 2, false), (3, 0, true)],
    };

    /// <summary>Names of the puppets that there are flows for.</summary>
    public static IReadOnlyList<string> Names { get; } = [.. Cuts.Keys];

    /// <summary>Builds a puppet and reads it back from a file of triangles.</summary>
    /// <param name="template">The template.</param>
    /// <param name="name">Name of the puppet.</param>
    /// <returns>The head, and the loops that its rows belong on, file coordinates.</returns>
    public static (HeadScan Scan, IReadOnlyList<(Vector3d[] Line, string[] Rows)> Loops) Of(TemplateHead template, string name)
    {
        Puppet puppet = LanternMarket.Cast.Single(puppet => puppet.Name == name);
        PuppetShape shape = DemoCast.ShapeOf(template, puppet);
        PolygonMesh mesh = template.Mesh;
        var adjacency = new MeshAdjacency(mesh);
        int[][] loops = [.. Loops.Select(loop => LoopThrough(template, adjacency, loop.From, loop.To))];
        var strips = new QuadStrips(
            mesh.Positions.ToArray().Select(p => shape.Apply(p)),
            Enumerable.Range(0, mesh.FaceCount).Select(f => (template.FaceParts[f], mesh.Face(f).ToArray())));
        foreach ((int loop, int every, bool beside) in Cuts[name])
        {
            CutAround(strips, adjacency, loops[loop], every, beside);
        }

        var builder = new PuppetBuilder(new WarpedHead(template, shape));
        int[] vertices = [.. strips.Points.Select(builder.Mesh.AddVertex)];
        foreach ((string part, int[] corners) in strips.Quads)
        {
            builder.Mesh.AddFace(part, [.. corners.Select(v => vertices[v])]);
        }

        puppet.Figure?.Invoke(builder.Mesh);
        (PolygonMesh built, string[] parts) = builder.Mesh.Build();
        FileForm form = puppet.Form with { ByNode = false };
        string file = Path.Combine(Path.GetTempPath(), $"{name}-{Guid.NewGuid():N}.glb");
        try
        {
            File.WriteAllBytes(file, GlbHeadFile.Write(name, built, parts, form, null));
            return (MeshReader.Read(file), [.. Loops.Select((loop, i) => (strips.Along(loops[i]).Select(v => form.ToFile(strips.Points[v])).ToArray(), loop.Rows))]);
        }
        finally
        {
            File.Delete(file);
        }
    }

    private static void CutAround(QuadStrips strips, MeshAdjacency adjacency, int[] loop, int every, bool beside)
    {
        foreach (int edge in beside ? adjacency.VertexEdges(loop[0]) : [])
        {
            int other = adjacency.Edges[edge].Other(loop[0]);
            if (other != loop[1] && other != loop[^1])
            {
                strips.Cut(loop[0], other);
            }
        }

        // A strip across the loop on one side of the mouth may be one with another on the other.
        for (int i = 1; every > 0 && i + 1 < loop.Length; i += every)
        {
            if (strips.IsWhole(loop[i], loop[i + 1]))
            {
                strips.Cut(loop[i], loop[i + 1]);
            }
        }
    }

    private static int[] LoopThrough(TemplateHead template, MeshAdjacency adjacency, string from, string to)
    {
        int first = VertexAt(from), last = VertexAt(to);
        return [.. adjacency.VertexEdges(first).ToArray().Select(edge => EdgeLoops.Through(adjacency, edge))
            .First(loop => loop.IsClosed && loop.Vertices.Contains(last)).Vertices];

        int VertexAt(string joint)
        {
            Vector3d point = template.Lattice.Joints.Single(candidate => candidate.Name == joint).SkinPoint!.Value;
            return Enumerable.Range(0, template.Mesh.VertexCount).MinBy(v => Vector3d.Distance(template.Mesh.Positions[v], point));
        }
    }
}
