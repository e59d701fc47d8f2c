using System.Numerics;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Registration;

namespace AutoPlace.Calibration.Truth;

/// <summary>
/// A head with its jaw open, moved by the initial weights of a lattice: teeth go with the joints that ride on them, lips by
/// how near they are to the joints that the jaw carries. Tells how much of the teeth goes through the skin.
/// </summary>
internal sealed class OpenedMouth
{
    private readonly PlacementResult _placed;
    private readonly IReadOnlySet<string> _carried;
    private readonly (int From, int To)[] _teeth;

    /// <summary>Takes a placed head, whose polygons are triangles.</summary>
    /// <param name="placed">The head.</param>
    /// <param name="teeth">Name of the part that is its teeth.</param>
    /// <param name="carried">The joints that move with the jaw.</param>
    public OpenedMouth(PlacementResult placed, string teeth, IReadOnlySet<string> carried)
    {
        (_placed, _carried) = (placed, carried);
        _teeth = [.. Enumerable.Range(0, placed.Scan.Mesh.FaceCount).Where(f => placed.Scan.Parts[placed.Scan.FaceParts[f]].Name == teeth)
            .SelectMany(f => Edges(placed.Scan.Mesh.Face(f).ToArray())).Distinct()];
    }

    /// <summary>Share of the teeth's edges that go through the skin.</summary>
    /// <param name="at">Places of joints in the file; joints that aren't among them stay where they were placed.</param>
    /// <param name="open">Opens the jaw: from a place in the file to another.</param>
    public double Cut(IReadOnlyDictionary<string, Vector3d> at, Func<Vector3d, Vector3d> open)
    {
        JointPlacement[] joints = [.. _placed.Placement.Joints.Select(joint =>
            at.TryGetValue(joint.Joint.Name, out Vector3d place) ? At(joint, _placed.Frame.ToHead(place)) : joint)];
        VertexInfluences?[] weights = InitialWeights.Compute(_placed.HeadMesh, _placed.Skin, joints);
        var opened = new Vector3[weights.Length];
        for (int v = 0; v < opened.Length; v++)
        {
            Vector3d rest = _placed.HeadMesh.Positions[v];
            double share = weights[v] is { } influences ? influences.Joints.Zip(influences.Shares, (joint, s) => _carried.Contains(joints[joint].Joint.Name) ? s : 0).Sum() : 0;
            opened[v] = (Vector3)Vector3d.Lerp(rest, _placed.Frame.ToHead(open(_placed.Frame.ToFile(rest))), share);
        }

        var skin = new BoundingVolumeHierarchy(new TriangleMesh(opened, _placed.Skin.Mesh.Indices.ToArray()));
        return _teeth.Count(edge => opened[edge.From] != opened[edge.To] && skin.MeetsRay(opened[edge.From], opened[edge.To] - opened[edge.From], 1)) / (double)_teeth.Length;
    }

    // On the patch of skin that it is meant for, not on the opposite lip.
    private JointPlacement At(JointPlacement joint, Vector3d place)
    {
        if (joint.SkinPoint is not { } point)
        {
            return joint with { Position = place };
        }

        (Vector3 a, Vector3 b, Vector3 c) = _placed.HeadMesh.Corners(point.Triangle);
        var under = new SkinTarget(place, ((Vector3d)Vector3.Cross(b - a, c - a)).Normalized());
        return SurfaceJoints.Moved(joint, under, _placed.Registration!.Evidence.Skin) with { Position = place };
    }

    private static IEnumerable<(int From, int To)> Edges(int[] face) =>
        face.Select((v, i) => (v, Next: face[(i + 1) % face.Length])).Select(edge => (Math.Min(edge.v, edge.Next), Math.Max(edge.v, edge.Next)));
}
