using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Registration;

namespace AutoPlace.Verification;

/// <summary>
/// Rows that follow a closed edge loop on the template's head (the margins of the lids, where the lips meet, the border of
/// their vermilion) lie on the loop that models the same here; where the head has none, that is said.
/// </summary>
internal static class EdgeLoopCheck
{
    internal const string Name = "edge-loop";

    internal static readonly CheckLimit Likely = new(0.5, "likelihood", "own choice: more likely than not");

    internal static readonly CheckLimit Beside = new(
        0.5, "edge", "common practice of rigging, no published source: rows follow the modelled loops; half an edge is nearer to the next one");

    /// <summary>A loop this likely is the one to judge by.</summary>
    private const double Certain = 0.9;

    internal static IEnumerable<Finding> Run(CheckedHead head)
    {
        foreach (RowsOnLoop rows in head.Placement.Loops)
        {
            string names = string.Join(" and ", rows.Rows);
            if (rows.Likelihood < Likely.Value)
            {
                yield return Likely.Finding(
                    Name, Severity.Info, rows.Rows[0], rows.Likelihood,
                    $"No closed edge loop of this head is where {names} run; they lie by the shape alone, and skin stretches unevenly across edges that cut a row.");
            }
            else if (rows.Likelihood >= Certain && Farthest(head, rows) is (string joint, double edges) && edges > Beside.Value)
            {
                string far = edges.ToString("F1", CultureInfo.InvariantCulture);
                yield return Beside.Finding(
                    Name, Severity.Info, joint, edges,
                    $"{joint} lies {far} of an edge beside the loop that {names} follow; skin stretches unevenly across edges that cut a row.");
            }
        }
    }

    private static (string Joint, double Edges)? Farthest(CheckedHead head, RowsOnLoop rows)
    {
        (string Joint, double Edges)? farthest = null;
        foreach (string name in rows.Joints)
        {
            if (head.Joint(name) is { SkinPoint: { } point, State: JointState.Modelled })
            {
                LinePlace place = rows.Line!.Nearest(head.HeadMesh.Position(point));
                double edges = Vector3d.Distance(place.Position, head.HeadMesh.Position(point)) / place.EdgeLength;
                farthest = farthest is null || edges > farthest.Value.Edges ? (name, edges) : farthest;
            }
        }

        return farthest;
    }
}
