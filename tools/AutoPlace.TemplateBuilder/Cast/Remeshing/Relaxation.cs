using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Heads;

namespace AutoPlace.TemplateBuilder.Cast.Remeshing;

/// <summary>Spreads the vertices of a part along a surface; its border stays.</summary>
internal static class Relaxation
{
    private const int Rounds = 4;

    // Of the way to the mean: more draws thin features, such as ears, down.
    private const double Step = 0.3;

    /// <summary>Runs a number of rounds: towards the mean of the neighbours, then back onto the surface.</summary>
    public static void Run(PolygonMeshBuilder mesh, string part, TriangleMesh surface)
    {
        int[][] faces = [.. mesh.Faces(part)];
        var smooth = new SmoothSurface(surface);
        Dictionary<int, HashSet<int>> neighbours = Neighbours(faces);
        for (int round = 0; round < Rounds; round++)
        {
            Dictionary<int, Vector3d> normals = Normals(mesh, faces);
            Dictionary<int, Vector3d> moved = [];
            foreach ((int vertex, HashSet<int> around) in neighbours)
            {
                Vector3d mean = around.Aggregate(Vector3d.Zero, (sum, other) => sum + mesh[other]) / around.Count;
                moved[vertex] = smooth.Near(Vector3d.Lerp(mesh[vertex], mean, Step), normals[vertex]) ?? mean;
            }

            foreach ((int vertex, Vector3d position) in moved)
            {
                mesh[vertex] = position;
            }
        }
    }

    // Of the vertices within the part; those on its border have an edge with a face on one side only.
    private static Dictionary<int, HashSet<int>> Neighbours(int[][] faces)
    {
        var sides = new Dictionary<(int, int), int>();
        var neighbours = new Dictionary<int, HashSet<int>>();
        foreach ((int a, int b) in faces.SelectMany(Edges))
        {
            (int, int) edge = a < b ? (a, b) : (b, a);
            sides[edge] = sides.GetValueOrDefault(edge) + 1;
            (neighbours.TryGetValue(a, out HashSet<int>? ofA) ? ofA : neighbours[a] = []).Add(b);
            (neighbours.TryGetValue(b, out HashSet<int>? ofB) ? ofB : neighbours[b] = []).Add(a);
        }

        foreach ((int a, int b) in sides.Where(edge => edge.Value == 1).Select(edge => edge.Key))
        {
            neighbours.Remove(a);
            neighbours.Remove(b);
        }

        return neighbours;
    }

    private static IEnumerable<(int A, int B)> Edges(int[] face) => face.Select((a, i) => (a, face[(i + 1) % face.Length]));

    private static Dictionary<int, Vector3d> Normals(PolygonMeshBuilder mesh, int[][] faces)
    {
        var sums = new Dictionary<int, Vector3d>();
        foreach (int[] face in faces)
        {
            Vector3d area = Vector3d.Zero;
            for (int i = 2; i < face.Length; i++)
            {
                area += Vector3d.Cross(mesh[face[i - 1]] - mesh[face[0]], mesh[face[i]] - mesh[face[0]]);
            }

            foreach (int vertex in face)
            {
                sums[vertex] = sums.GetValueOrDefault(vertex) + area;
            }
        }

        return sums.ToDictionary(sum => sum.Key, sum => sum.Value.Normalized());
    }
}
