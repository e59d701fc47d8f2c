using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>Chains of a lattice that are straight on the template's own head: three joints or more, each the parent of the next.</summary>
internal static class LatticeLines
{
    /// <summary>The lines, those nearer to the root first; each in order along it.</summary>
    /// <param name="joints">The joints, parents first.</param>
    /// <param name="leaders">For each joint the one that stands for all in its place.</param>
    /// <param name="tolerance">Share of its length that a line may be off by.</param>
    public static IReadOnlyList<List<int>> Of(IReadOnlyList<ControlJoint> joints, IReadOnlyList<int> leaders, double tolerance)
    {
        var index = new Dictionary<string, int>(StringComparer.Ordinal);
        for (int i = 0; i < joints.Count; i++)
        {
            index.Add(joints[i].Name, i);
        }

        var lines = new List<List<int>>();
        var lineInto = new Dictionary<int, List<int>>();
        for (int i = 0; i < joints.Count; i++)
        {
            int at = leaders[i], parent = PlaceAbove(i);
            if (parent < 0 || lineInto.ContainsKey(at))
            {
                continue;
            }

            if (!lineInto.TryGetValue(parent, out List<int>? line) || !Continues(line, at))
            {
                lines.Add(line = [parent]);
            }

            line.Add(at);
            lineInto.Add(at, line);
        }

        return [.. lines.Where(line => line.Count > 2).Select(Sorted)];

        // The nearest ancestor in another place.
        int PlaceAbove(int joint)
        {
            for (string? name = joints[joint].Parent; name is not null; name = joints[index[name]].Parent)
            {
                if (leaders[index[name]] != leaders[joint])
                {
                    return leaders[index[name]];
                }
            }

            return -1;
        }

        bool Continues(List<int> line, int next)
        {
            Vector3d start = joints[line[0]].Position, along = joints[line[1]].Position - start, to = joints[next].Position - start;
            double length = Math.Max(along.Length, to.Length);
            double offNext = Vector3d.Cross(along.Normalized(), to).Length, offSecond = Vector3d.Cross(to.Normalized(), along).Length;
            return to.Length > 0 && Math.Min(offNext, offSecond) <= tolerance * length;
        }

        List<int> Sorted(List<int> line)
        {
            Vector3d start = joints[line[0]].Position, along = joints[line[1]].Position - start;
            return [.. line.OrderBy(i => Vector3d.Dot(joints[i].Position - start, along))];
        }
    }
}
