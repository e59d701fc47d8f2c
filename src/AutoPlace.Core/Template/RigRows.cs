using System.Globalization;
using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>Rows by numbered names, where these leave no doubt: the only number counts through, and the steps run on evenly.</summary>
internal static class RigRows
{
    private const int FewestJoints = 3;

    /// <summary>A row turns by less than a right angle and its longest step is less than this many times the shortest, or it is no row.</summary>
    private const double MostUneven = 5;

    /// <summary>The rows, in the order of their first joints.</summary>
    /// <param name="names">Names of the joints.</param>
    /// <param name="positions">Their positions.</param>
    public static IReadOnlyList<JointSequence> Infer(IReadOnlyList<string> names, IReadOnlyList<Vector3d> positions)
    {
        var stems = new Dictionary<string, List<(int Number, int Joint)>>(StringComparer.Ordinal);
        for (int i = 0; i < names.Count; i++)
        {
            if (Split(names[i]) is (string stem, int number))
            {
                (stems.TryGetValue(stem, out List<(int, int)>? members) ? members : stems[stem] = []).Add((number, i));
            }
        }

        var taken = names.ToHashSet(StringComparer.Ordinal);
        var rows = new List<JointSequence>();
        foreach ((string stem, List<(int Number, int Joint)> members) in stems.OrderBy(stem => stem.Value[0].Joint))
        {
            members.Sort();
            bool counts = members.Count >= FewestJoints && members.Select((member, i) => member.Number - i).Distinct().Count() == 1;
            if (counts && RunsOn([.. members.Select(member => positions[member.Joint])]))
            {
                string name = taken.Add(stem) ? stem : $"{stem}_row";
                rows.Add(new JointSequence(name, [.. members.Select(member => names[member.Joint])]));
            }
        }

        return rows;
    }

    // The name without its only number, joined by underscores.
    private static (string Stem, int Number)? Split(string name)
    {
        string[] words = [.. RigNames.Words(name).Select(word => name[word])];
        string[] numbers = [.. words.Where(word => char.IsAsciiDigit(word[0]))];
        return numbers.Length == 1 && words.Length > 1 && int.TryParse(numbers[0], NumberStyles.None, CultureInfo.InvariantCulture, out int number)
            ? (string.Join('_', words.Where(word => word != numbers[0])), number)
            : null;
    }

    private static bool RunsOn(Vector3d[] row)
    {
        double[] steps = [.. row.Skip(1).Select((p, i) => Vector3d.Distance(row[i], p))];
        return steps.Min() > 0
            && steps.Max() < MostUneven * steps.Min()
            && Enumerable.Range(1, row.Length - 2).All(i => Vector3d.Dot(row[i] - row[i - 1], row[i + 1] - row[i]) > 0);
    }
}
