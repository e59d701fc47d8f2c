using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration.Correcting;

/// <summary>
/// A head with its lattice as the program placed it, ready for corrections: <see cref="Solve"/> gives the placement for
/// any set of them. Doesn't change; may be used by several threads.
/// </summary>
public sealed class CorrectableHead
{
    private readonly Dictionary<string, int> _index;
    private readonly int[] _parents;
    private readonly DisplacementSpread _spread;
    private readonly SkinRide _ride;
    private readonly Lazy<AtlasSkin> _atlas;

    /// <summary>Prepares a head.</summary>
    /// <param name="automatic">The lattice as the program placed it.</param>
    /// <param name="skin">The head's skin.</param>
    /// <param name="headMesh">The mesh that <see cref="JointPlacement.SkinPoint"/> refers to, head frame.</param>
    /// <param name="atlas">Gives the way between atlas and head; called when first needed.</param>
    internal CorrectableHead(LatticePlacement automatic, SkinSurface skin, TriangleMesh headMesh, Func<AtlasSkin> atlas)
    {
        Automatic = automatic;
        HeadMesh = headMesh;
        _index = automatic.Joints.Select((joint, i) => (joint.Joint.Name, i)).ToDictionary(j => j.Name, j => j.i, StringComparer.Ordinal);
        _parents = [.. automatic.Joints.Select(joint => joint.Joint.Parent is { } parent ? _index[parent] : -1)];
        _spread = new DisplacementSpread(automatic.Joints);
        _ride = new SkinRide(skin, headMesh);
        _atlas = new Lazy<AtlasSkin>(atlas);
    }

    /// <summary>Lays a lattice over a head by looking.</summary>
    internal static CorrectableHead Seen(PreparedTemplate template, JointLattice lattice, TriangleMesh headMesh, HeadRegistration found)
    {
        (LatticePlacement placement, HeadWarp warp) = LatticeRegistration.Place(template, lattice, found);
        return new CorrectableHead(placement, found.Evidence.Skin, headMesh, () =>
        {
            var onHead = new Vector3[template.Skin.VertexCount];
            Parallel.For(0, onHead.Length, v => onHead[v] = (Vector3)warp.Apply(template.Skin.Positions[v]));
            return new AtlasSkin(template.Skin, template.Skin.WithPositions(onHead));
        });
    }

    /// <summary>Carries a lattice over to a head of the template's own topology.</summary>
    internal static CorrectableHead Carried(PreparedTemplate template, JointLattice lattice, ConditionedHead head, CarriedHead carried) =>
        new(carried.Place(lattice, head.Mesh), head.Evidence.Skin, head.Mesh, () =>
        {
            Vector3[] onHead = [.. template.SkinVertices.ToArray().Select(v => head.Mesh.Positions[v])];
            return new AtlasSkin(template.Skin, template.Skin.WithPositions(onHead));
        });

    /// <summary>The lattice as the program placed it.</summary>
    public LatticePlacement Automatic { get; }

    /// <summary>The whole scan, head frame, interocular distances.</summary>
    public TriangleMesh HeadMesh { get; }

    /// <summary>
    /// The placement with corrections. Locked joints are where they were put, to the last bit; the rest of their regions
    /// follows along the skin, other regions stay as the program placed them. Corrections of joints that this lattice
    /// doesn't have change nothing.
    /// </summary>
    /// <param name="corrections">The corrections.</param>
    public LatticePlacement Solve(Corrections corrections)
    {
        ArgumentNullException.ThrowIfNull(corrections);
        IReadOnlyList<JointPlacement> joints = Automatic.Joints;
        var corrected = new JointCorrection?[joints.Count];
        foreach (JointCorrection correction in corrections.Joints.Values)
        {
            if (_index.TryGetValue(correction.Joint, out int i))
            {
                corrected[i] = correction;
            }
        }

        Vector3d[] moves = Carried(corrected);
        var known = new List<KnownDisplacement>();
        for (int i = 0; i < corrected.Length; i++)
        {
            if (corrected[i] is { Position: { } position } correction)
            {
                known.Add(new KnownDisplacement(i, position - joints[i].Position - moves[i], correction.Influence));
            }
        }

        Vector3d[] spread = _spread.Solve(known);
        return Automatic with { Joints = [.. joints.Select((joint, i) => Corrected(joint, corrected[i], moves[i] + spread[i]))] };
    }

    /// <summary>The joint as the program placed it, or null when this lattice has none of that name.</summary>
    public JointPlacement? AutomaticJoint(string name) => _index.TryGetValue(name, out int i) ? Automatic.Joints[i] : null;

    /// <summary>What fixes a joint at a position: the correction with the atlas point and lift that belong to it.</summary>
    /// <param name="joint">The joint as the program placed it.</param>
    /// <param name="position">Where a person wants it, head frame.</param>
    internal JointCorrection Fixed(JointPlacement joint, Vector3d position)
    {
        var correction = new JointCorrection { Joint = joint.Joint.Name, Position = position };
        if (joint.Joint.Ride != Ride.Skin)
        {
            return correction with { AtlasPoint = joint.Joint.Position + ((position - joint.Position) / joint.LocalSize) };
        }

        SkinPlace under = _ride.Under(joint, position);
        return correction with
        {
            AtlasPoint = _atlas.Value.ToAtlas(under.Position, under.Normal),
            Lift = SkinRide.Lift(joint, under, position),
        };
    }

    /// <summary>Where a correction's atlas point and lift are on this head.</summary>
    /// <param name="joint">The joint as the program placed it.</param>
    /// <param name="correction">Its correction; has an atlas point.</param>
    /// <returns>The position, and how far the skin is from where it was expected.</returns>
    internal (Vector3d Position, double OffSkin) Found(JointPlacement joint, JointCorrection correction)
    {
        Vector3d atlasPoint = correction.AtlasPoint!.Value;
        if (joint.Joint.Ride != Ride.Skin)
        {
            return (joint.Position + ((atlasPoint - joint.Joint.Position) * joint.LocalSize), 0);
        }

        (Vector3d expected, Vector3d normal) = _atlas.Value.ToHead(atlasPoint);
        SkinPlace under = _ride.Facing(joint, expected, normal);
        return (SkinRide.Over(joint, under, correction.Lift ?? joint.Lift), Vector3d.Distance(expected, under.Position));
    }

    /// <summary>The position on the skin nearest to one, at the joint's own lift; that itself for joints that don't ride on the skin.</summary>
    internal Vector3d OntoSkin(JointPlacement joint, Vector3d position) => joint.Joint.Ride != Ride.Skin
        ? position
        : SkinRide.Over(joint, _ride.Under(joint, position), joint.Lift);

    // What each joint inherits from the nearest one above it that is locked, if that carries its children along.
    private Vector3d[] Carried(JointCorrection?[] corrected)
    {
        var moves = new Vector3d[corrected.Length];
        var passedOn = new Vector3d[corrected.Length];
        for (int i = 0; i < corrected.Length; i++)
        {
            moves[i] = _parents[i] >= 0 ? passedOn[_parents[i]] : Vector3d.Zero;
            passedOn[i] = corrected[i] is not { Position: { } position } correction ? moves[i]
                : correction.CarriesChildren ? position - Automatic.Joints[i].Position
                : Vector3d.Zero;
        }

        return moves;
    }

    private JointPlacement Corrected(JointPlacement joint, JointCorrection? correction, Vector3d move)
    {
        bool rides = joint.Joint.Ride == Ride.Skin;
        JointPlacement placed = correction?.Position is { } position
            ? (rides ? _ride.At(joint, position) : joint with { Position = position }) with { Radius90 = 0 }
            : move == Vector3d.Zero ? joint
            : rides ? _ride.Slid(joint, move)
            : joint with { Position = joint.Position + move };
        return correction is null ? placed : placed with
        {
            Rotation = correction.Rotation ?? placed.Rotation,
            PositionLocked = correction.LocksPosition,
            RotationLocked = correction.LocksRotation,
        };
    }
}
