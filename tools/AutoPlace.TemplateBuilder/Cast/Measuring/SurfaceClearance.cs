using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>
/// How far placed joints float over the surface of the file, against what they were meant to: distance to the nearest
/// triangle, its sign by the winding number. Nothing of what places joints has a hand in it.
/// </summary>
/// <param name="Median">Median of |clearance - lift| over the skin joints outside folds, % of the interocular distance.</param>
/// <param name="Worst">The largest of them and its joint.</param>
/// <param name="Sinking">Joints with a positive lift that lie under the surface.</param>
internal sealed record SurfaceClearance(double Median, (string Joint, double Off) Worst, IReadOnlyList<string> Sinking)
{
    // Half of the surroundings: the open neck, the only large hole, is far from all skin joints.
    private const double Inside = 0.5;

    private static readonly string[] NotSkin =
        ["eyeball", "teeth", "gums", "tongue", "beard", "hat", "scarf", "smock", "hands", "trousers", "boots"];

    /// <summary>Measures a placement against the skin, which goes on under hat and beard.</summary>
    public static SurfaceClearance Of(PlacementResult result)
    {
        var index = new BoundingVolumeHierarchy(Surface(result.Scan));
        var winding = new WindingNumber(index);
        var offs = new List<(string Joint, double Off)>();
        var sinking = new List<string>();
        foreach (JointPlacement joint in result.Placement.Joints.Where(joint => joint.Joint is { Ride: Ride.Skin, InFold: false }))
        {
            var position = (Vector3)result.Frame.ToFile(joint.Position);
            double distance = index.ClosestPoint(position).Distance / result.Frame.InterocularDistance;
            double clearance = Math.Abs(winding.At(position)) > Inside ? -distance : distance;
            offs.Add((joint.Joint.Name, 100 * Math.Abs(clearance - joint.Lift)));
            if (clearance < 0 && joint.Lift > 0)
            {
                sinking.Add(joint.Joint.Name);
            }
        }

        offs.Sort((a, b) => a.Off.CompareTo(b.Off));
        return new SurfaceClearance(offs[offs.Count / 2].Off, offs[^1], sinking);
    }

    // Where a file names no parts, pieces the size of eyes are left out.
    private static TriangleMesh Surface(HeadScan scan)
    {
        TriangleMesh mesh = scan.Mesh.Triangulate(out int[] faces);
        MeshComponents components = MeshComponents.OfParts(scan);
        int[] component = components.FaceComponents.ToArray();
        int most = components.FaceCounts.ToArray().Max();
        return mesh.Subset([.. Enumerable.Range(0, mesh.TriangleCount).Where(t => scan.Parts.Count > 1
            ? !NotSkin.Any(word => scan.Parts[scan.FaceParts[faces[t]]].Name.Contains(word, StringComparison.OrdinalIgnoreCase))
            : components.FaceCounts[component[faces[t]]] == most)]);
    }
}
