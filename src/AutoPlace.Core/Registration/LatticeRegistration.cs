using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>What is known about a head when the lattice is laid over it; all in the head frame, interocular distances.</summary>
public sealed record HeadEvidence
{
    /// <summary>Landmarks.</summary>
    public required IReadOnlyList<Landmark> Landmarks { get; init; }

    /// <summary>Correspondences on skin and eyeballs.</summary>
    public required IReadOnlyList<Correspondence> Correspondences { get; init; }

    /// <summary>Similarity from the atlas to the head frame.</summary>
    public required SimilarityTransform AtlasToHead { get; init; }

    /// <summary>The left eyeball.</summary>
    public required Eyeball EyeballLeft { get; init; }

    /// <summary>The right eyeball.</summary>
    public required Eyeball EyeballRight { get; init; }

    /// <summary>The skin.</summary>
    public required SkinSurface Skin { get; init; }

    /// <summary>The pieces of the scan that aren't skin: teeth, tongue, and much else.</summary>
    public required TriangleMesh OtherPieces { get; init; }

    /// <summary>The whole scan.</summary>
    public required TriangleMesh Mesh { get; init; }

    /// <summary>Its polygons as modelled, over the same vertices; their positions are in file coordinates.</summary>
    public required PolygonMesh Polygons { get; init; }
}

/// <summary>A lattice laid over a head, and the map from the atlas that it was laid by.</summary>
/// <param name="Placement">The lattice.</param>
/// <param name="Warp">The map.</param>
public sealed record RegisteredLattice(LatticePlacement Placement, HeadWarp Warp);

/// <summary>Lays a template's lattice over a head.</summary>
public static class LatticeRegistration
{
    /// <summary>A 90 % radius is this many standard deviations of one coordinate (three-dimensional normal error, chi-square table: sqrt(6.251)).</summary>
    internal const double Radius90Sigmas = 2.5003;

    /// <summary>Finds the atlas on a head.</summary>
    /// <param name="atlas">A template whose head was shaped after the atlas.</param>
    /// <param name="head">The head.</param>
    public static HeadRegistration Register(PreparedTemplate atlas, ConditionedHead head)
    {
        ArgumentNullException.ThrowIfNull(atlas);
        ArgumentNullException.ThrowIfNull(head);
        HeadEvidence evidence = head.Evidence;
        IReadOnlyList<ControlPoint> controls = atlas.ControlPointsOn(evidence);
        HeadWarp seen = HeadWarp.Fit(atlas.Head, controls, evidence.Landmarks, atlas.LipOfLandmark, LipSides.OpenOf(evidence.Landmarks));
        return new HeadRegistration
        {
            IsSymmetric = head.IsSymmetric,
            Evidence = evidence,
            Controls = controls,
            Mouth = new MouthFit(atlas, evidence),
            Warp = head.IsSymmetric ? seen : atlas.Sides.Correct(seen, evidence.Skin),
        };
    }

    /// <summary>Places every joint of a lattice.</summary>
    /// <param name="template">The template.</param>
    /// <param name="lattice">The joints to place, with their rows and columns; parents before children.</param>
    /// <param name="found">Where the atlas is on the head.</param>
    public static RegisteredLattice Place(PreparedTemplate template, JointLattice lattice, HeadRegistration found)
    {
        ArgumentNullException.ThrowIfNull(template);
        ArgumentNullException.ThrowIfNull(lattice);
        ArgumentNullException.ThrowIfNull(found);
        HeadRegistration head = template.Embedding?.Carry(found) ?? found;
        (HeadEvidence evidence, HeadWarp warp) = (head.Evidence, head.Warp);
        var regions = new RegionScales(template, lattice, warp);
        var inner = new InnerJoints(template, head);
        var uncertainty = new JointUncertainty(template.Head, head.Controls, evidence);
        IReadOnlyList<ControlJoint> joints = lattice.Joints;
        var placements = new JointPlacement[joints.Count];
        var expected = new SkinTarget[joints.Count];
        var turns = new Matrix3d[joints.Count];
        var skinTurns = new SkinTurns(template, head.Controls, warp, evidence.Skin);
        Parallel.For(0, expected.Length, i => expected[i] = IsOnSkin(joints[i]) ? SurfaceJoints.Expected(template, joints[i], warp) : default);
        LipContact.Close(template, joints, warp, evidence.Landmarks, expected);
        Parallel.For(0, joints.Count, i =>
        {
            ControlJoint joint = joints[i];
            double size = regions.Of(joint);
            JointPlacement placement;
            if (IsOnSkin(joint))
            {
                placement = SurfaceJoints.Place(joint, expected[i], evidence.Skin, size);
            }
            else
            {
                placement = inner.Place(joint, size);
                expected[i] = new SkinTarget(placement.Position, Vector3d.UnitZ);
            }

            placements[i] = placement with { Radius90 = uncertainty.Radius90(joint) };
            turns[i] = joint.SkinPoint is { } point ? skinTurns.At(point) : warp.LocalSimilarity(joint.Position).Rotation;
        });
        var placed = placements.ToDictionary(p => p.Joint.Name, StringComparer.Ordinal);
        var expectedOf = joints.Zip(expected).ToDictionary(t => t.First.Name, t => t.Second, StringComparer.Ordinal);
        IReadOnlyList<FollowedLoop> loops = LoopAlignment.Find(template, warp, evidence);
        foreach (FollowedLoop loop in loops)
        {
            foreach ((string name, SkinTarget target) in LoopAlignment.Lay(loop, lattice, name => expectedOf[name], OnSkin))
            {
                placed[name] = SurfaceJoints.Moved(placed[name], target, evidence.Skin);
            }
        }

        HashSet<string> onLoops = [.. loops.Where(loop => loop.OnHead.Count > 0).SelectMany(loop => loop.Expected.Joints)];
        var flow = new EdgeFlow(evidence.Polygons, evidence.Skin.Mesh.Positions, evidence.Skin.Mesh.Indices);
        RowFairing.Apply(lattice, placed, onLoops, (template.Flow, template.SkinNormal), (flow, evidence.Skin, OnSkin));
        RowTurns.Limit(lattice, placed, onLoops, evidence.Skin, name => expectedOf[name].Normal);
        bool own = template.Embedding is not null;
        (IReadOnlyDictionary<string, Matrix3d> groups, IReadOnlySet<string> mirrored) = LatticeInvariants.Apply(
            lattice, placed, head.IsSymmetric, own ? LatticeInvariants.ReadMidline : 0, own);
        var turnOf = joints.Zip(turns).ToDictionary(t => t.First.Name, t => t.Second, StringComparer.Ordinal);
        JointRotations.Apply(lattice, joint => turnOf[joint.Name], placed, groups, mirrored);
        return new RegisteredLattice(
            new LatticePlacement([.. joints.Select(j => placed[j.Name])], lattice.Rows, lattice.Columns)
            {
                Loops = [.. loops.Select(loop => loop.Of(lattice)).Where(rows => rows.Rows.Count > 0)],
            },
            warp);

        static bool IsOnSkin(ControlJoint joint) => joint is { Ride: Ride.Skin, SkinPoint: not null };

        SkinTarget OnSkin(string name) => placed[name] is { SkinPoint: { } point, Joint.Ride: Ride.Skin }
            ? expectedOf[name] with { Position = evidence.Mesh.Position(point) }
            : expectedOf[name];
    }
}
