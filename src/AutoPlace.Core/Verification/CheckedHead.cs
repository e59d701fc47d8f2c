using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Verification;

/// <summary>A placement with what it is judged by; everything in the head frame, interocular distances.</summary>
public sealed class CheckedHead
{
    private readonly Dictionary<string, JointPlacement> _byName;
    private readonly Lazy<IReadOnlyList<(JointPlacement Left, JointPlacement Right)>> _twins;

    /// <summary>Prepares a placement for the checks; O(T) in the skin's triangles.</summary>
    /// <param name="placement">The placement.</param>
    /// <param name="headMesh">The mesh that <see cref="JointPlacement.SkinPoint"/> refers to.</param>
    /// <param name="skin">The head's skin alone; may have no triangles, clearance isn't judged then.</param>
    /// <param name="landmarks">Landmarks of the head.</param>
    public CheckedHead(
        LatticePlacement placement, TriangleMesh headMesh, BoundingVolumeHierarchy skin, IReadOnlyList<Landmark> landmarks)
    {
        ArgumentNullException.ThrowIfNull(placement);
        ArgumentNullException.ThrowIfNull(headMesh);
        ArgumentNullException.ThrowIfNull(skin);
        ArgumentNullException.ThrowIfNull(landmarks);
        Placement = placement;
        HeadMesh = headMesh;
        Skin = new SkinDistance(skin);
        Landmarks = landmarks;
        _byName = new Dictionary<string, JointPlacement>(StringComparer.Ordinal);
        foreach (JointPlacement joint in placement.Joints)
        {
            _byName.TryAdd(joint.Joint.Name, joint);
        }

        _twins = new(FindTwins);
    }

    /// <summary>The placement.</summary>
    public LatticePlacement Placement { get; }

    /// <summary>The mesh that skin points refer to.</summary>
    public TriangleMesh HeadMesh { get; }

    /// <summary>Landmarks of the head.</summary>
    public IReadOnlyList<Landmark> Landmarks { get; }

    /// <summary>Signed distances from the skin.</summary>
    internal SkinDistance Skin { get; }

    /// <summary>A joint by name, or null.</summary>
    internal JointPlacement? Joint(string name) => _byName.GetValueOrDefault(name);

    /// <summary>Placed joints that are each other's mirror image, in the order of the left ones, which lie farther left in the template.</summary>
    internal IReadOnlyList<(JointPlacement Left, JointPlacement Right)> Twins => _twins.Value;

    /// <summary>A landmark by name if the head has it, or null.</summary>
    internal Landmark? SeenLandmark(string name)
    {
        foreach (Landmark landmark in Landmarks)
        {
            if (landmark.Name == name)
            {
                return landmark.Source == LandmarkSource.Inferred ? null : landmark;
            }
        }

        return null;
    }

    /// <summary>The joints of a row or column, in order; a closed one doesn't repeat its first joint.</summary>
    internal JointPlacement[] JointsOf(JointSequence sequence)
    {
        var joints = new List<JointPlacement>(sequence.Joints.Count);
        foreach (string name in sequence.Joints)
        {
            if (_byName.TryGetValue(name, out JointPlacement? joint))
            {
                joints.Add(joint);
            }
        }

        return [.. joints];
    }

    /// <summary>Each joint of a row or column with the next, the last of a closed one with the first; two joints close nothing.</summary>
    internal IEnumerable<(JointPlacement From, JointPlacement To)> SpansOf(JointSequence sequence)
    {
        JointPlacement[] joints = JointsOf(sequence);
        int spans = sequence.Closed && joints.Length > 2 ? joints.Length : joints.Length - 1;
        for (int i = 0; i < spans; i++)
        {
            yield return (joints[i], joints[(i + 1) % joints.Length]);
        }
    }

    /// <summary>
    /// Signed distance of a joint in a fold from the plane of its own patch of skin, or null when the patch isn't known.
    /// </summary>
    internal double? DistanceFromOwnPatch(JointPlacement joint)
    {
        if (joint.SkinPoint is not SurfacePoint patch)
        {
            return null;
        }

        (Vector3 a, Vector3 b, Vector3 c) = HeadMesh.Corners(patch.Triangle);
        Vector3d foot = HeadMesh.Position(patch), normal = Vector3d.Cross((Vector3d)b - a, (Vector3d)c - a).Normalized() * Skin.OrientationAt(foot);
        return Vector3d.Dot(joint.Position - foot, normal);
    }

    private List<(JointPlacement Left, JointPlacement Right)> FindTwins()
    {
        IReadOnlyDictionary<string, string> twins = LatticeTwins.Of(
            new JointLattice([.. _byName.Values.Select(joint => joint.Joint)], Placement.Rows, Placement.Columns));
        var pairs = new List<(JointPlacement, JointPlacement)>();
        foreach (JointPlacement left in Placement.Joints)
        {
            if (twins.TryGetValue(left.Joint.Name, out string? twin) && Joint(twin) is { } right && left.Joint.Position.X > right.Joint.Position.X)
            {
                pairs.Add((left, right));
            }
        }

        return pairs;
    }
}
