using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Template;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>
/// How many of the joints of lids and lips lie on the very loop that models them: on puppets whose quads flow otherwise
/// than the template's, and on heads whose loops a person marked.
/// </summary>
internal static class LoopMeasurement
{
    /// <summary>A joint is on its loop within this share of the length of the edge there.</summary>
    private const double OnLoop = 0.25;

    /// <summary>Prints a line for each head and one for all; returns 0, or 1 when a marked head isn't in the folder.</summary>
    /// <param name="folder">Folder of an evaluation with marked heads, or null for the puppets alone.</param>
    public static int Run(string? folder)
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        TemplateHead template = BuiltInTemplate.Load();
        Console.WriteLine("joints of lids and lips within a quarter of the edge's length of their loop; then, in degrees, how far other rows and columns");
        Console.WriteLine("lie to the quads otherwise than on the template's own head, where they follow them");
        var all = new List<(int On, int Of)>();
        foreach (string puppet in ForeignFlow.Names)
        {
            (HeadScan scan, IReadOnlyList<(Vector3d[] Line, string[] Rows)> loops) = ForeignFlow.Of(template, puppet);
            PlacementResult placed = Place(scan);
            all.Add(Report(puppet, Measure(placed, loops), RowAngles.Of(template, placed)));
        }

        int missing = 0;
        foreach ((string id, (int From, int To, string[] Rows)[] marks) in MarkedLoops.Known.Where(_ => folder is not null))
        {
            string? file = Directory.Exists(Path.Combine(folder!, id)) ? Directory.EnumerateFiles(Path.Combine(folder!, id), id + ".*").FirstOrDefault() : null;
            if (file is null)
            {
                Console.Error.WriteLine($"{folder}: no {id} in it");
                missing++;
                continue;
            }

            HeadScan scan = MeshReader.Read(file);
            var adjacency = new MeshAdjacency(scan.Mesh);
            PlacementResult placed = Place(scan);
            all.Add(Report(
                id,
                Measure(placed, [.. marks.Select(mark => (
                    EdgeLoops.Through(adjacency, adjacency.FindEdge(mark.From, mark.To)).Vertices.Select(v => (Vector3d)scan.Mesh.Positions[v]).ToArray(), mark.Rows))]),
                RowAngles.Of(template, placed)));
        }

        Report("all", [("", all.Sum(head => head.On), all.Sum(head => head.Of))], []);
        return missing > 0 ? 1 : 0;

        PlacementResult Place(HeadScan scan) => pipeline.Run(scan, PlacementOptions.Default, CancellationToken.None);
    }

    private static (int On, int Of) Report(string name, IReadOnlyList<(string Rows, int On, int Of)> loops, double[] angles)
    {
        (int on, int of) = (loops.Sum(loop => loop.On), loops.Sum(loop => loop.Of));
        string each = string.Join(", ", loops.Where(loop => loop.Rows.Length > 0).Select(loop => $"{loop.Rows} {loop.On} of {loop.Of}"));
        string flow = angles.Length > 0
            ? string.Create(CultureInfo.InvariantCulture, $"; {angles[angles.Length / 2]:0.0} median, {angles.Average():0.0} mean of {angles.Length} spans") : "";
        Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"{name,-14} {100.0 * on / of,4:0} %  {each}{flow}"));
        return (on, of);
    }

    /// <summary>For each loop its rows, how many of their joints are on it, and of how many.</summary>
    /// <param name="placed">The head, placed.</param>
    /// <param name="loops">Corners of each loop, file coordinates, and the rows that belong on it.</param>
    public static IReadOnlyList<(string Rows, int On, int Of)> Measure(PlacementResult placed, IReadOnlyList<(Vector3d[] Line, string[] Rows)> loops)
    {
        var joints = placed.Placement.Joints.ToDictionary(joint => joint.Joint.Name, StringComparer.Ordinal);
        var counts = new List<(string Rows, int On, int Of)>();
        foreach ((Vector3d[] corners, string[] rows) in loops)
        {
            var line = new PolygonalChain(corners, closed: true);

            // A corner belongs to the loop of the contact; the border ends beside it.
            string[] names = [.. rows.SelectMany(row => placed.Placement.Rows.Single(known => known.Name == row).Joints)
                .Where(name => !(rows[0].EndsWith("border", StringComparison.Ordinal) && name.StartsWith("lip_corner", StringComparison.Ordinal))).Distinct()];
            int on = names.Count(name =>
            {
                Vector3d foot = placed.Frame.ToFile(placed.HeadMesh.Position(joints[name].SkinPoint!.Value));
                LinePlace nearest = line.Nearest(foot);
                return Vector3d.Distance(nearest.Position, foot) <= OnLoop * nearest.EdgeLength;
            });
            counts.Add((string.Join(" and ", rows), on, names.Length));
        }

        return counts;
    }
}
