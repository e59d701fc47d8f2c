using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// A closed edge loop of a template's own head on which rows of its lattice lie, all the way round: the margin of the
/// lids, where the lips meet, the border of their vermilion, or whatever else a rig has of the kind.
/// </summary>
/// <param name="Rows">Names of the rows.</param>
/// <param name="Joints">Names of their joints on the loop.</param>
/// <param name="Points">The loop's vertices in sequence, the template's coordinates.</param>
/// <param name="Normals">The skin's unit normals there.</param>
/// <param name="Lips">The lip that each vertex is of, see <see cref="LipSides"/>.</param>
/// <param name="Turn">By how much the skin turns over at the loop, radians, positive where it is convex.</param>
internal sealed record RowLoop(IReadOnlyList<string> Rows, IReadOnlySet<string> Joints, Vector3d[] Points, Vector3d[] Normals, double[] Lips, double? Turn)
{
    /// <summary>A joint lies on a loop within this share of the length of the edge there.</summary>
    private const double OnLoop = 0.25;

    /// <summary>No part of a loop longer than this share is without joints.</summary>
    private const double WidestGap = 0.25;

    /// <summary>The loops that rows of a template lie on.</summary>
    /// <param name="template">The template.</param>
    /// <param name="skinVertices">For each vertex of its skin that of its mesh.</param>
    /// <param name="skinNormals">Unit normals there.</param>
    /// <param name="skinLips">The lips that they are of.</param>
    public static IReadOnlyList<RowLoop> Of(
        TemplateHead template, ReadOnlySpan<int> skinVertices, ReadOnlySpan<System.Numerics.Vector3> skinNormals, LipSides skinLips)
    {
        double[] lips = new double[template.Mesh.VertexCount];
        var normals = new System.Numerics.Vector3[template.Mesh.VertexCount];
        bool[] isSkin = new bool[normals.Length];
        for (int v = 0; v < skinVertices.Length; v++)
        {
            (normals[skinVertices[v]], lips[skinVertices[v]], isSkin[skinVertices[v]]) = (skinNormals[v], skinLips[v], true);
        }

        bool[] everywhere = new bool[template.Mesh.VertexCount];
        Array.Fill(everywhere, true);
        var skinPoints = template.Lattice.Joints.Where(joint => joint.SkinPoint is not null)
            .ToDictionary(joint => joint.Name, joint => joint.SkinPoint!.Value, StringComparer.Ordinal);
        var loops = new List<RowLoop>();
        foreach (ClosedEdgeLoop loop in ClosedEdgeLoops.In(template.Mesh, everywhere).Where(loop => loop.Vertices.All(v => isSkin[v])))
        {
            Vector3d[] points = [.. loop.Vertices.Select(v => (Vector3d)template.Mesh.Positions[v])];
            var line = new PolygonalChain(points, closed: true);
            JointSequence[] rows = [.. template.Lattice.Rows.Where(row => LiesOn(line, row, skinPoints))];
            var joints = rows.SelectMany(row => row.Joints).Where(name => IsOn(line, name, skinPoints)).ToHashSet(StringComparer.Ordinal);
            if (joints.Count > 0 && WidestOf([.. joints.Select(name => line.Nearest(skinPoints[name]).Along)], line.Length) <= WidestGap * line.Length)
            {
                loops.Add(new RowLoop([.. rows.Select(row => row.Name)], joints, points, [.. loop.Vertices.Select(v => (Vector3d)normals[v])], [.. loop.Vertices.Select(v => lips[v])], loop.Turn(template.Mesh, template.Mesh.Positions, normals)));
            }
        }

        return loops;
    }

    // The ends of a row may lie where several rows meet; a closed one has none.
    private static bool LiesOn(PolygonalChain line, JointSequence row, Dictionary<string, Vector3d> skinPoints) =>
        row.Joints.Count > 2 && (row.Closed ? row.Joints : row.Joints.Skip(1).SkipLast(1)).All(name => IsOn(line, name, skinPoints));

    private static bool IsOn(PolygonalChain line, string joint, Dictionary<string, Vector3d> skinPoints)
    {
        if (!skinPoints.TryGetValue(joint, out Vector3d point))
        {
            return false;
        }

        LinePlace place = line.Nearest(point);
        return Vector3d.Distance(point, place.Position) <= OnLoop * place.EdgeLength;
    }

    private static double WidestOf(double[] along, double length)
    {
        Array.Sort(along);
        double widest = length - along[^1] + along[0];
        for (int i = 1; i < along.Length; i++)
        {
            widest = Math.Max(widest, along[i] - along[i - 1]);
        }

        return widest;
    }
}
