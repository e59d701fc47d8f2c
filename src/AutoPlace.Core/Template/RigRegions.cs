using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>Regions of a rig's joints: by their names where these name one, else by the joint of the built-in lattice that lies nearest.</summary>
internal sealed class RigRegions
{
    /// <summary>How far that joint may be, interocular distances, on the skin and inside (own choice: a region's half width).</summary>
    private const double ReachOnSkin = 0.2, ReachInside = 0.3;

    /// <summary>How near a joint in a fold has to be to say that this one is in the fold, too.</summary>
    private const double FoldReach = 0.04;

    /// <summary>How near it has to be to say that the skin here faces many ways.</summary>
    private const double FoldsAround = 0.12;

    private static readonly Dictionary<string, string> Words = new(StringComparer.Ordinal)
    {
        ["brow"] = "brow",
        ["eyebrow"] = "brow",
        ["lid"] = "eyelid",
        ["eyelid"] = "eyelid",
        ["eye"] = "eye",
        ["eyeball"] = "eye",
        ["nose"] = "nose",
        ["nostril"] = "nose",
        ["lip"] = "lip",
        ["mouth"] = "lip",
        ["cheek"] = "cheek",
        ["ear"] = "ear",
        ["jaw"] = "jaw",
        ["tongue"] = "tongue",
        ["tooth"] = "teeth",
        ["teeth"] = "teeth",
    };

    private readonly IReadOnlyList<ControlJoint> _onSkin;
    private readonly IReadOnlyList<ControlJoint> _inside;

    /// <summary>Prepares the built-in lattice.</summary>
    public RigRegions(TemplateHead atlas)
    {
        _onSkin = [.. atlas.Lattice.Joints.Where(joint => joint.Ride == Ride.Skin)];
        _inside = [.. atlas.Lattice.Joints.Where(joint => joint.Ride != Ride.Skin)];
    }

    /// <summary>The region of a joint, or null.</summary>
    /// <param name="name">Its name.</param>
    /// <param name="atlas">Its place in the atlas.</param>
    /// <param name="onSkin">True when it rides on the skin.</param>
    public string? Of(string name, Vector3d atlas, bool onSkin)
    {
        string[] named = [.. RigNames.LowerWords(name).Select(word => Words.GetValueOrDefault(word)).OfType<string>().Distinct(StringComparer.Ordinal)];
        return named.Length == 1 ? named[0] : onSkin ? Nearest(_onSkin, atlas, ReachOnSkin)?.Region : Nearest(_inside, atlas, ReachInside)?.Region;
    }

    /// <summary>True where a joint on the skin sits in a fold.</summary>
    /// <param name="atlas">Its place on the atlas's skin.</param>
    public bool IsInFold(Vector3d atlas) => Nearest(_onSkin, atlas, FoldReach)?.InFold == true;

    /// <summary>True where a fold is near on the skin.</summary>
    /// <param name="atlas">Place on the atlas's skin.</param>
    public bool IsNearFold(Vector3d atlas) => _onSkin.Any(joint => joint.InFold && Vector3d.Distance(joint.Position, atlas) <= FoldsAround);

    /// <summary>The built-in joint inside the head that lies nearest, or null beyond the reach.</summary>
    /// <param name="atlas">Place in the atlas.</param>
    /// <param name="reach">How far it may be.</param>
    public ControlJoint? NearestInside(Vector3d atlas, double reach) => Nearest(_inside, atlas, reach);

    private static ControlJoint? Nearest(IReadOnlyList<ControlJoint> joints, Vector3d atlas, double reach)
    {
        ControlJoint? nearest = joints.MinBy(joint => Vector3d.Distance(joint.Position, atlas));
        return nearest is not null && Vector3d.Distance(nearest.Position, atlas) <= reach ? nearest : null;
    }
}
