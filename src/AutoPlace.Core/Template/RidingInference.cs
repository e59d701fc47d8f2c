using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>What a joint keeps its place to.</summary>
/// <param name="Ride">The way it rides.</param>
/// <param name="Kind">What it is for.</param>
/// <param name="Lift">Signed distance from the skin for one that rides on it, else 0.</param>
/// <param name="SkinPoint">The point of the skin under it, or null.</param>
internal sealed record Riding(Ride Ride, JointKind Kind, double Lift = 0, Vector3d? SkinPoint = null);

/// <summary>
/// Tells from where a joint is what it keeps its place to: to the skin near it, above or under it on purpose; inside, to the
/// eyeball, the teeth, the tongue or the hinge of the jaw, where it lies in or about them; else to the head as a whole. Off
/// the skin by a fold it rides on the head as well: the skin around it faces too many ways to tell where up is.
/// All reaches are own choices, in interocular distances.
/// </summary>
internal sealed class RidingInference
{
    /// <summary>So near to the skin a joint rides on it, whatever lies behind.</summary>
    private const double OnSkin = 0.02;

    /// <summary>So deep under the skin, and so high above it, a joint still rides on it.</summary>
    private const double UnderSkin = 0.12, AboveSkin = 0.35;

    /// <summary>Above the skin by more than this is where something attaches.</summary>
    private const double Touching = 0.12;

    /// <summary>Within this share of its radius from the centre a joint belongs to the eyeball.</summary>
    private const double WithinEyeball = 0.6;

    /// <summary>Cosine of 20 degrees: a child of the eye's joint this straight ahead of it goes with it.</summary>
    private const double Ahead = 0.94;

    /// <summary>So far from the teeth or tongue a joint belongs to them; so far from a pivot of the built-in lattice it rides as that does.</summary>
    private const double NearPart = 0.06, NearPivot = 0.35;

    private static readonly (string Part, Ride Ride)[] MouthParts =
    [
        ("teeth_upper", Ride.TeethUpper), ("gums_upper", Ride.TeethUpper), ("teeth_lower", Ride.TeethLower),
        ("gums_lower", Ride.TeethLower), ("tongue", Ride.Tongue),
    ];

    private static readonly string[] Teeth = ["tooth", "teeth", "incisor", "canine", "premolar", "molar"];

    private readonly FittedHead _head;
    private readonly RigRegions _regions;
    private readonly BoundingVolumeHierarchy _atlasSkin;
    private readonly List<(BoundingVolumeHierarchy Surface, Ride Ride)> _parts = [];

    /// <summary>Prepares a head.</summary>
    public RidingInference(FittedHead head, RigRegions regions)
    {
        (_head, _regions) = (head, regions);
        TriangleMesh mesh = head.Atlas.Mesh.Triangulate(out int[] faces);
        _atlasSkin = new BoundingVolumeHierarchy(mesh.Subset(TrianglesOf("skin")));
        foreach ((string part, Ride ride) in MouthParts)
        {
            if (TrianglesOf(part) is { Length: > 0 } triangles)
            {
                _parts.Add((new BoundingVolumeHierarchy(mesh.Subset(triangles)), ride));
            }
        }

        int[] TrianglesOf(string part) => [.. Enumerable.Range(0, faces.Length).Where(t => head.Atlas.FaceParts[faces[t]] == part)];
    }

    /// <summary>Infers how a joint rides.</summary>
    /// <param name="joint">The joint, head frame.</param>
    /// <param name="parent">How its parent rides, or null for a root.</param>
    public Riding Of(RigJoint joint, Riding? parent)
    {
        Vector3d p = joint.Position;
        SkinFoot foot = _head.Skin(p);
        Vector3d atlas = _head.ToAtlas(p);
        double depth = DepthInAtlas(atlas);
        Riding riding = Eyeball(p, foot, parent) is { } eye ? Inside(eye)
            : Mouth(p, atlas, depth, joint.Name) is { } part ? Inside(part)
            : depth > UnderSkin && foot.Lift > -UnderSkin ? Inside(Pivot(p, joint.Name))
            : Math.Abs(foot.Lift) <= OnSkin ? OnTheSkin(foot, JointKind.Surface)
            : foot.Lift < -UnderSkin || (foot.Lift <= Touching && _regions.IsNearFold(_head.ToAtlas(foot.Point))) ? Inside(Pivot(p, joint.Name))
            : foot.Lift <= Touching ? OnTheSkin(foot, JointKind.Surface)
            : foot.Lift <= AboveSkin ? OnTheSkin(foot, JointKind.Attachment)
            : new Riding(Ride.Eyes, JointKind.Attachment);
        return joint.IsJoint ? riding : riding with { Kind = JointKind.Other };
    }

    private static Riding Inside(Ride ride) => new(ride, JointKind.Pivot);

    private static Riding OnTheSkin(SkinFoot foot, JointKind kind) => new(Ride.Skin, kind, foot.Lift, foot.Point);

    private Ride? Eyeball(Vector3d p, SkinFoot foot, Riding? parent)
    {
        foreach ((FittedEye eye, Ride ride) in (ReadOnlySpan<(FittedEye, Ride)>)[(_head.EyeLeft, Ride.EyeballLeft), (_head.EyeRight, Ride.EyeballRight)])
        {
            Vector3d off = p - eye.Centre;
            bool within = off.Length <= WithinEyeball * eye.Radius;
            bool aheadOfEye = parent?.Ride == ride && Math.Abs(foot.Lift) > OnSkin
                && off.Length <= 2 * eye.Radius && off.Z >= Ahead * off.Length;
            if (within || aheadOfEye)
            {
                return ride;
            }
        }

        return null;
    }

    // Under the atlas's skin, which ends at the lips: through open lips the head's own may go on over teeth and cheeks inside.
    private double DepthInAtlas(Vector3d atlas)
    {
        SurfaceProximity near = _atlasSkin.ClosestPoint((Vector3)atlas);
        (Vector3 a, Vector3 b, Vector3 c) = _atlasSkin.Mesh.Corners(near.Point.Triangle);
        return Vector3d.Dot(atlas - near.Position, (Vector3d)Vector3.Cross(b - a, c - a)) < 0 ? near.Distance : -near.Distance;
    }

    // Not what lies in the lips, just in front of the teeth, but for what is named after these: an open mouth's aren't under the
    // atlas's skin. The mouth as a whole turns about the arch that stays with the skull.
    private Ride? Mouth(Vector3d p, Vector3d atlas, double depth, string name)
    {
        HashSet<string> words = [.. RigNames.LowerWords(name)];
        bool isTongue = words.Contains("tongue"), isTooth = words.Overlaps(Teeth), isMouth = !isTongue && !isTooth && words.Contains("mouth");
        if (depth < NearPart && !isTongue && !isTooth)
        {
            return null;
        }

        (Ride? nearest, double distance) = (null, isTongue || isTooth || isMouth ? NearPivot : NearPart);
        foreach ((BoundingVolumeHierarchy surface, Ride ride) in _parts)
        {
            SurfaceProximity near = surface.ClosestPoint((Vector3)(_head.MouthToAtlas.TryGetValue(ride, out SimilarityTransform? own) ? own.Apply(p) : atlas), (float)distance);
            bool suits = (isTongue == isTooth || isTongue == (ride == Ride.Tongue))
                && (!isMouth || ride == Ride.TeethUpper)
                && !(ride == Ride.TeethLower && words.Contains("upper")) && !(ride == Ride.TeethUpper && words.Contains("lower"));
            if (suits && near.IsFound && near.Distance < distance)
            {
                (nearest, distance) = (ride, near.Distance);
            }
        }

        return nearest;
    }

    private Ride Pivot(Vector3d p, string name)
    {
        if (RigNames.LowerWords(name).Contains("jaw"))
        {
            return Ride.JawHinge;
        }

        Ride ride = _regions.NearestInside(_head.ToAtlas(p), NearPivot)?.Ride ?? Ride.Inner;
        return ride is Ride.JawHinge or Ride.TeethUpper or Ride.TeethLower or Ride.Tongue ? ride : Ride.Inner;
    }
}
