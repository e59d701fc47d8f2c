using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;

namespace AutoPlace.Verification;

/// <summary>
/// All checks of a placement, at rest and moved. They go by the placement, the head and its landmarks, not by how it came
/// about, so they can judge a placement made by hand just as well.
/// </summary>
public static class PlacementChecks
{
    /// <summary>Runs all checks.</summary>
    /// <param name="placement">The placement, head frame, interocular distances.</param>
    /// <param name="headMesh">The mesh that <see cref="JointPlacement.SkinPoint"/> refers to, head frame, interocular distances.</param>
    /// <param name="skin">The head's skin alone, same frame; without triangles, clearance isn't judged.</param>
    /// <param name="landmarks">Landmarks of the head, same frame.</param>
    /// <returns>Findings, the worst first, else in the order of the checks and joints.</returns>
    public static IReadOnlyList<Finding> Run(
        LatticePlacement placement, TriangleMesh headMesh, BoundingVolumeHierarchy skin, IReadOnlyList<Landmark> landmarks)
    {
        var head = new CheckedHead(placement, headMesh, skin, landmarks);

        // With a joint nowhere, distances mean nothing.
        List<Finding> findings = [.. InvariantCheck.Run(head)];
        if (placement.Joints.All(j => j.Position.IsFinite))
        {
            findings.AddRange(AnatomicalOrderCheck.Run(head));
            findings.AddRange(LandmarkCheck.Run(head));
            findings.AddRange(ClearanceCheck.Run(head));
            findings.AddRange(RowCurveCheck.Run(head));
            findings.AddRange(RowTurnCheck.Run(head));
            findings.AddRange(FrameFlipCheck.Run(head));
            findings.AddRange(EdgeLoopCheck.Run(head));
            findings.AddRange(SpacingCheck.Run(head));
            findings.AddRange(BilateralSymmetryCheck.Run(head));
            findings.AddRange(ProportionCheck.Run(head, skin.Mesh));
            findings.AddRange(MotionCheck.Run(head));
        }

        return Sorted(findings, []);
    }

    /// <summary>Findings together, the worst first, else in the order given.</summary>
    public static IReadOnlyList<Finding> Sorted(IEnumerable<Finding> findings, IEnumerable<Finding> more) =>
        [.. findings.Concat(more).OrderByDescending(f => f.Severity)];
}
