using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
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
    private readonly JointsTogether _together;
    private readonly SkinRide _ride;
    private readonly Lazy<AtlasSkin> _atlas;
    private readonly SkinSurface _skin;
    private readonly Lazy<MeshAdjacency?> _adjacency;
    private readonly Lazy<int[]?> _twins;

    /// <summary>Prepares a head.</summary>
    /// <param name="automatic">The lattice as the program placed it.</param>
    /// <param name="skin">The head's skin.</param>
    /// <param name="headMesh">The mesh that <see cref="JointPlacement.SkinPoint"/> refers to, head frame.</param>
    /// <param name="atlas">Gives the way between atlas and head; called when first needed.</param>
    /// <param name="polygons">The scan's polygons over the vertices of <paramref name="headMesh"/>; null when they aren't known.</param>
    internal CorrectableHead(LatticePlacement automatic, SkinSurface skin, TriangleMesh headMesh, Func<AtlasSkin> atlas, PolygonMesh? polygons = null)
    {
        Automatic = automatic;
        HeadMesh = headMesh;
        _index = automatic.Joints.Select((joint, i) => (joint.Joint.Name, i)).ToDictionary(j => j.Name, j => j.i, StringComparer.Ordinal);
        Twins = LatticeTwins.Of(new JointLattice([.. automatic.Joints.Select(joint => joint.Joint)], automatic.Rows, automatic.Columns));
        _parents = [.. automatic.Joints.Select(joint => joint.Joint.Parent is { } parent ? _index[parent] : -1)];
        _spread = new DisplacementSpread(automatic.Joints, Twins);
        _together = new JointsTogether(automatic.Joints);
        _ride = new SkinRide(skin, headMesh);
        _atlas = new Lazy<AtlasSkin>(atlas);
        _skin = skin;
        _adjacency = new Lazy<MeshAdjacency?>(() => polygons is null ? null : new MeshAdjacency(polygons));
        _twins = new Lazy<int[]?>(() => polygons is null ? null : TopologicalMirror.Twins(polygons, _adjacency.Value!, OffPlane(skin.Mesh)));
    }

    /// <summary>Lays a lattice over a head by looking.</summary>
    /// <param name="template">The template.</param>
    /// <param name="atlas">The template that was shaped after the atlas.</param>
    /// <param name="lattice">The joints.</param>
    /// <param name="headMesh">The whole scan, head frame.</param>
    /// <param name="found">Where the atlas is on the head.</param>
    /// <param name="polygons">The scan's polygons over the same vertices.</param>
    internal static CorrectableHead Seen(
        PreparedTemplate template, PreparedTemplate atlas, JointLattice lattice, TriangleMesh headMesh, HeadRegistration found, PolygonMesh polygons)
    {
        CorrectableHead? automatic = null;
        return automatic = LaidBy([]);

        CorrectableHead LaidBy(IReadOnlyList<LandmarkCorrection> set)
        {
            if (set.Count == 0 && automatic is not null)
            {
                return automatic;
            }

            HeadRegistration registration = set.Count == 0 ? found : LandmarkLocks.Apply(atlas, found, set);
            (LatticePlacement placement, HeadWarp warp) = LatticeRegistration.Place(template, lattice, registration);
            return new CorrectableHead(placement, found.Evidence.Skin, headMesh, () => Mapped(template, v => warp.ApplyOnLip(template.Skin.Positions[v], template.Lips[v])), polygons)
            {
                Basis = new LandmarkBasis(found.Evidence.Landmarks, atlas.Head.Landmarks, set, found.IsSymmetric, LaidBy),
            };
        }
    }

    /// <summary>Carries a lattice over to a head of the template's own topology.</summary>
    internal static CorrectableHead Carried(PreparedTemplate template, JointLattice lattice, ConditionedHead head, CarriedHead carried, PolygonMesh polygons) => new(
        carried.Place(lattice, head.Mesh),
        head.Evidence.Skin,
        head.Mesh,
        () => Mapped(template, v => head.Mesh.Positions[template.SkinVertices[v]]),
        polygons);

    /// <summary>The lattice as the program placed it.</summary>
    public LatticePlacement Automatic { get; }

    /// <summary>The whole scan, head frame, interocular distances.</summary>
    public TriangleMesh HeadMesh { get; }

    /// <summary>Adjacency of the scan's polygons, or null when they aren't known.</summary>
    internal MeshAdjacency? Adjacency => _adjacency.Value;

    /// <summary>For each vertex of the mesh the one on the other side by connectivity, -1 where there is none; null when the skin's connectivity isn't symmetric.</summary>
    internal IReadOnlyList<int>? VertexTwins => _twins.Value;

    /// <summary>For the name of each joint that has a twin on the other side, the twin's.</summary>
    internal IReadOnlyDictionary<string, string> Twins { get; }

    /// <summary>What the lattice was laid by; null when it was carried over with the mesh or comes from elsewhere.</summary>
    internal LandmarkBasis? Basis { get; init; }

    /// <summary>
    /// This head with its lattice laid anew by the landmarks that a person set; itself when nothing is new.
    /// Where the lattice wasn't laid by landmarks, they change nothing.
    /// </summary>
    /// <param name="corrections">The corrections; only those of landmarks count.</param>
    public CorrectableHead With(Corrections corrections)
    {
        ArgumentNullException.ThrowIfNull(corrections);
        LandmarkCorrection[] set = [.. corrections.Landmarks.Values.Where(l => Basis?.Has(l.Landmark) == true)];
        return Basis is null || set.SequenceEqual(Basis.Set) ? this : Basis.LayAnew(set);
    }

    /// <summary>Landmarks of this head with those that a person set in their places, and the mirror images that the lattice is laid by with them.</summary>
    /// <param name="seen">The landmarks as the program found them, head frame.</param>
    /// <param name="corrections">The corrections; only those of landmarks count.</param>
    internal IReadOnlyList<Landmark> Landmarks(IReadOnlyList<Landmark> seen, Corrections corrections) =>
        LandmarkLocks.Apply(seen, [.. corrections.Landmarks.Values], Basis?.IsSymmetric == true);

    /// <summary>
    /// Corrections of joints with the atlas points that their places have on this head: where landmarks lay the lattice anew, the
    /// same place is another point of the atlas. Places stay to the last bit.
    /// </summary>
    /// <param name="corrections">The corrections.</param>
    internal Corrections Reread(Corrections corrections)
    {
        foreach (JointCorrection made in corrections.Joints.Values)
        {
            if (made is { Position: { } position, AtlasPoint: not null } && AutomaticJoint(made.Joint) is { } joint)
            {
                JointCorrection there = Fixed(joint with { Lift = made.Lift ?? joint.Lift }, position);
                corrections = corrections.With(made with { AtlasPoint = there.AtlasPoint, Lift = there.Lift });
            }
        }

        return corrections;
    }

    /// <summary>
    /// The placement with corrections. Locked joints are where they were put, to the last bit; the rest of their regions
    /// follows along the skin, other regions stay as the program placed them, but for joints that lie in one place with a
    /// locked one. Corrections of joints that this lattice doesn't have change nothing.
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
        for (int i = 0; i < moves.Length; i++)
        {
            moves[i] = corrected[i]?.Position is { } position ? position - joints[i].Position : moves[i] + spread[i];
        }

        _together.Apply(moves, i => corrected[i]?.LocksPosition == true);
        return Automatic with { Joints = [.. joints.Select((joint, i) => Corrected(joint, corrected[i], moves[i]))] };
    }

    /// <summary>The joint as the program placed it, or null when this lattice has none of that name.</summary>
    public JointPlacement? AutomaticJoint(string name) => _index.TryGetValue(name, out int i) ? Automatic.Joints[i] : null;

    /// <summary>
    /// A placement of this head that came from elsewhere, with the points of the skin that its joints are meant to lie on: files
    /// don't say which lip or lid a joint is of.
    /// </summary>
    /// <param name="placement">The placement, head frame.</param>
    public LatticePlacement OnSkin(LatticePlacement placement)
    {
        ArgumentNullException.ThrowIfNull(placement);
        return placement with
        {
            Joints = [.. placement.Joints.Select(joint => joint.SkinPoint is null && AutomaticJoint(joint.Joint.Name) is { SkinPoint: not null } own
                ? joint with { SkinPoint = _ride.MeantAt(own with { Lift = joint.Lift }, joint.Position) }
                : joint)],
        };
    }

    /// <summary>What fixes a joint at a position: the correction with the atlas point and lift that belong to it.</summary>
    /// <param name="joint">The joint as the program placed it; of patches of the skin in a fold the one from which it has its lift counts.</param>
    /// <param name="position">Where a person wants it, head frame.</param>
    internal JointCorrection Fixed(JointPlacement joint, Vector3d position)
    {
        var correction = new JointCorrection { Joint = joint.Joint.Name, Position = position };
        if (joint.Joint.Ride != Ride.Skin)
        {
            return correction with { AtlasPoint = joint.Joint.Position + ((position - joint.Position) / joint.LocalSize) };
        }

        SkinPlace under = _ride.LiftedFrom(joint, position);
        return correction with
        {
            AtlasPoint = _atlas.Value.ToAtlas(under.Position, under.Normal),
            Lift = SkinRide.Lift(joint, under, position),
        };
    }

    /// <summary>What sets a landmark at a position, on the skin's nearest point where it is one of the skin; null when the lattice wasn't laid by it.</summary>
    internal LandmarkCorrection? Fixed(string landmark, Vector3d position)
    {
        if (Basis?.Has(landmark) != true)
        {
            return null;
        }

        if (!LandmarkCombination.IsOnSkin(landmark))
        {
            return new LandmarkCorrection(landmark, position, Basis.ToAtlas(landmark, position));
        }

        SkinPlace near = _skin.Nearest(position, double.PositiveInfinity)!.Value;
        return new LandmarkCorrection(landmark, near.Position, _atlas.Value.ToAtlas(near.Position, near.Normal));
    }

    /// <summary>Where the atlas point of a landmark that has one is on this head, and how far a position is from the skin.</summary>
    internal (Vector3d Position, double OffSkin) Found(LandmarkCorrection landmark)
    {
        if (!LandmarkCombination.IsOnSkin(landmark.Landmark))
        {
            return (Basis!.FromAtlas(landmark), 0);
        }

        Vector3d near = _skin.Nearest(_atlas.Value.ToHead(landmark.AtlasPoint!.Value).Position, double.PositiveInfinity)!.Value.Position;
        return (near, Vector3d.Distance(landmark.Position, _skin.Nearest(landmark.Position, double.PositiveInfinity)!.Value.Position));
    }

    /// <summary>
    /// The place of a point of the skin on the other side, by the mesh's connectivity: the same point of the twin
    /// triangle. Null where that isn't symmetric.
    /// </summary>
    internal Vector3d? TwinPlace(JointPlacement joint)
    {
        SurfacePoint under = _ride.Under(joint, joint.Position).Point;
        if (VertexTwins is not { } twins)
        {
            return null;
        }

        ReadOnlySpan<int> corners = HeadMesh.Indices.Slice(3 * under.Triangle, 3);
        Vector3d place = Vector3d.Zero;
        for (int k = 0; k < 3; k++)
        {
            if (twins[corners[k]] < 0)
            {
                return null;
            }

            place += (Vector3d)HeadMesh.Positions[twins[corners[k]]] * under.Barycentric[k];
        }

        return place;
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

    // From the atlas, in which every vertex of a template's skin is known, to where the vertex lies on a head.
    private static AtlasSkin Mapped(PreparedTemplate template, Func<int, Vector3d> onHead)
    {
        var (atlas, head) = (new Vector3[template.Skin.VertexCount], new Vector3[template.Skin.VertexCount]);
        Parallel.For(0, head.Length, v =>
        {
            atlas[v] = template.Head.AtlasPositions is { } known ? known.Span[template.SkinVertices[v]] : template.Skin.Positions[v];
            head[v] = (Vector3)onHead(v);
        });
        return new AtlasSkin(template.Skin.WithPositions(atlas), template.Skin.WithPositions(head));
    }

    // Distance of the skin's vertices from the midsagittal plane, behind the face too; infinite for all others.
    private static double[] OffPlane(TriangleMesh skin)
    {
        double[] distance = new double[skin.VertexCount];
        Array.Fill(distance, double.PositiveInfinity);
        foreach (int v in skin.Indices)
        {
            distance[v] = Math.Abs(skin.Positions[v].X);
        }

        return distance;
    }

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
            ? (rides ? _ride.At(joint, position, correction.Lift) : joint with { Position = position }) with { Radius90 = 0 }
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
