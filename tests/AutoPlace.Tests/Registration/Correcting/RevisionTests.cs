using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;
using AutoPlace.Template;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Registration.Correcting;

public sealed class RevisionTests
{
    private static readonly CorrectableHead Head = TemplateOwnHead.Head;
    private static readonly string[] Names = [.. Head.Automatic.Joints.Select(j => j.Joint.Name)];

    private static readonly Gen<(int Kind, int Joint, Vector3d Move, double Influence)> Step =
        Gen.Select(Gen.Int[0, 7], Gen.Int[0, Names.Length - 1], Coordinate, Coordinate, Coordinate, Gen.Double[0, 1])
            .Select(s => (s.Item1, s.Item2, new Vector3d(s.Item3, s.Item4, s.Item5), s.Item6));

    private static Gen<double> Coordinate => Gen.Double[-0.08, 0.08];

    /// <summary>Whatever is done to other joints, what a person fixed stays to the last bit, and to undo gives back every state.</summary>
    [Fact]
    public void Locked_joints_stay_to_the_last_bit_through_any_edits_and_every_state_comes_back() =>
        Step.Array[1, 25].Sample(
            steps =>
            {
                Revision first = Revision.First(Head), now = first;
                var positions = new Dictionary<string, Vector3d>();
                var rotations = new Dictionary<string, Rotation3d>();
                var states = new List<LatticePlacement> { now.Placement };
                foreach ((int kind, int joint, Vector3d move, double influence) in steps)
                {
                    now = Edited(now, kind, Names[joint], move, influence);
                    states.Add(now.Placement);
                    Remember(now, kind, Names[joint], positions, rotations);
                    bool kept = positions.All(p => TemplateOwnHead.At(now.Placement, p.Key).Position == p.Value)
                        && rotations.All(r => TemplateOwnHead.At(now.Placement, r.Key).Rotation == r.Value);
                    if (!kept)
                    {
                        return false;
                    }
                }

                for (int i = states.Count - 1; i > 0; i--, now = now.Before!)
                {
                    if (!ReferenceEquals(now.Placement, states[i]) || !Head.Solve(now.Corrections).Joints.SequenceEqual(states[i].Joints))
                    {
                        return false;
                    }
                }

                return ReferenceEquals(now, first);
            },
            seed: "0N0XIzNsQ0O2",
            iter: 40);

    /// <summary>What is solved follows from what is fixed, not from the order in which it was fixed.</summary>
    [Fact]
    public void Moves_of_different_joints_give_the_same_placement_in_any_order() =>
        Step.Array[2, 8].Sample(
            steps =>
            {
                MoveJoint[] moves = [.. steps.DistinctBy(s => s.Joint).Select(s => new MoveJoint(Names[s.Joint], Head.Automatic.Joints[s.Joint].Position + s.Move)
                {
                    Influence = s.Kind < 4 ? null : s.Influence,
                    AlongSkin = s.Kind % 2 == 0,
                })];
                Revision there = moves.Aggregate(Revision.First(Head), (r, move) => r.After(move));
                Revision back = moves.Reverse().Aggregate(Revision.First(Head), (r, move) => r.After(move));
                return there.Corrections.Equals(back.Corrections) && there.Placement.Joints.SequenceEqual(back.Placement.Joints);
            },
            seed: "0N0XIzNsQ0O2",
            iter: 60);

    /// <summary>Only what the rig has in one place with the moved joint goes along.</summary>
    [Fact]
    public void Joints_of_other_regions_do_not_move_at_all() =>
        Step.Sample(
            step =>
            {
                JointPlacement joint = Head.Automatic.Joints[step.Joint];
                Revision moved = Revision.First(Head).After(new MoveJoint(joint.Joint.Name, joint.Position + step.Move));
                return moved.Placement.Joints.Zip(Head.Automatic.Joints)
                    .Where(pair => pair.First.Joint.Region != joint.Joint.Region && pair.First.Joint.Position != joint.Joint.Position)
                    .All(pair => pair.First == pair.Second);
            },
            seed: "0N0XIzNsQ0O2",
            iter: 100);

    [Theory]
    [InlineData("brow_3_left", 0.3)]
    [InlineData("lip_upper_border_1_left", 0.15)]
    [InlineData("pronasale", 0)]
    public void With_an_influence_distance_nearer_joints_follow_and_farther_ones_stay(string name, double influence)
    {
        JointPlacement joint = Head.AutomaticJoint(name)!;

        LatticePlacement moved = Revision.First(Head)
            .After(new MoveJoint(name, joint.Position + new Vector3d(0, 0.05, 0)) { Influence = influence }).Placement;

        foreach ((JointPlacement before, JointPlacement after) in Head.Automatic.Joints.Zip(moved.Joints))
        {
            double distance = Vector3d.Distance(before.Position, joint.Position);
            bool follows = before.Joint.Region == joint.Joint.Region && distance < influence;
            Assert.True(before.Joint.Name == name || follows == (before.Position != after.Position), before.Joint.Name);
            Assert.True(distance > influence / 4 || !follows || after.Position.Y - before.Position.Y > 0.02, before.Joint.Name);
        }
    }

    /// <summary>Joints that follow keep their lift, as the checks measure it (0.001 is half of what they warn of).</summary>
    [Theory]
    [InlineData("brow_3_left")]
    [InlineData("cheek_middle_2_right")]
    [InlineData("jaw_line_1_left")]
    public void Joints_that_follow_stay_on_the_skin_at_their_lift(string name)
    {
        JointPlacement joint = Head.AutomaticJoint(name)!;

        LatticePlacement moved = Revision.First(Head)
            .After(new MoveJoint(name, joint.Position + new Vector3d(0.03, 0.06, 0)) { AlongSkin = true }).Placement;

        JointPlacement[] followers = [.. moved.Joints.Where(j => !j.PositionLocked && j.Joint.Ride == Ride.Skin
            && j.Position != Head.AutomaticJoint(j.Joint.Name)!.Position)];
        Assert.NotEmpty(followers);
        var ride = new BoundingVolumeHierarchy(Head.HeadMesh);
        Assert.All(followers, j => Assert.Equal(
            Vector3d.Distance(Head.AutomaticJoint(j.Joint.Name)!.Position, Nearest(ride, Head.AutomaticJoint(j.Joint.Name)!.Position)),
            Vector3d.Distance(j.Position, Nearest(ride, j.Position)),
            1e-3));

        static Vector3d Nearest(BoundingVolumeHierarchy skin, Vector3d p) => skin.ClosestPoint((System.Numerics.Vector3)p).Position;
    }

    [Fact]
    public void Twin_on_a_symmetric_head_follows_in_the_mirror()
    {
        JointPlacement joint = Head.AutomaticJoint("brow_3_left")!;

        LatticePlacement moved = Revision.First(Head).After(new MoveJoint("brow_3_left", joint.Position + new Vector3d(0.02, 0.05, 0))).Placement;

        Vector3d twin = TemplateOwnHead.At(moved, "brow_3_right").Position - Head.AutomaticJoint("brow_3_right")!.Position;
        Assert.InRange(twin.Y, 0.015, 0.05);
        Assert.InRange(twin.X, -0.02, -0.001);
    }

    [Fact]
    public void Mirror_gives_the_other_side_what_one_side_has_and_never_overwrites_a_lock()
    {
        Revision edited = Revision.First(Head)
            .After(Moved("brow_2_left", new(0.01, 0.04, 0)))
            .After(Moved("brow_4_left", new(0, 0.05, 0)))
            .After(Moved("brow_4_right", new(0, -0.03, 0)));

        Revision mirrored = edited.After(new MirrorJoints(Side.Left) { Region = "brow" });

        JointPlacement source = mirrored.Joint("brow_2_left"), twin = mirrored.Joint("brow_2_right");
        Assert.True(twin.PositionLocked);

        // The template's own two sides differ by a thousandth.
        Assert.True(Vector3d.Distance(twin.Position, new(-source.Position.X, source.Position.Y, source.Position.Z)) < 3e-3);
        Assert.Equal(edited.Joint("brow_4_right"), mirrored.Joint("brow_4_right"));
        Assert.False(mirrored.Joint("brow_3_right").PositionLocked);
    }

    /// <summary>One half of the head is wider than the other: by the plane the joint would miss its twin's place by a quarter of its distance.</summary>
    [Fact]
    public void Mirror_by_topology_finds_the_same_place_of_an_asymmetric_shape()
    {
        CorrectableHead lopsided = TemplateOwnHead.Prepare(Lopsided);
        JointPlacement joint = lopsided.AutomaticJoint("cheek_middle_2_left")!;

        Revision mirrored = Revision.First(lopsided)
            .After(new MoveJoint("cheek_middle_2_left", joint.Position + new Vector3d(0.05, 0.05, 0)) { AlongSkin = true })
            .After(new MirrorJoints(Side.Left) { ByTopology = true });

        Vector3d source = mirrored.Joint("cheek_middle_2_left").Position, twin = mirrored.Joint("cheek_middle_2_right").Position;
        Assert.True(mirrored.Joint("cheek_middle_2_right").PositionLocked);
        Assert.True(Vector3d.Distance(twin, new Vector3d(-source.X / 1.25, source.Y, source.Z)) < 0.01);

        static Vector3d Lopsided(Vector3d p) => p.X > 0 ? p with { X = 1.25 * p.X } : p;
    }

    [Fact]
    public void What_the_rig_has_in_one_place_or_rigid_goes_along()
    {
        var by = new Vector3d(0.02, 0.01, -0.03);

        Revision moved = Revision.First(Head).After(Moved("eye_centre_left", by)).After(Moved("incisor_upper", by));

        Assert.All((string[])["lid_upper_left", "lid_lower_left", "gaze_left", "molar_upper_left", "molar_upper_right"], name =>
            Assert.True(Vector3d.Distance(Head.AutomaticJoint(name)!.Position + by, moved.Joint(name).Position) < 1e-12, name));
    }

    [Fact]
    public void Lock_on_a_parent_takes_its_children_along_only_when_asked()
    {
        JointPlacement hinge = Head.AutomaticJoint("jaw_hinge")!;
        var move = new MoveJoint("jaw_hinge", hinge.Position + new Vector3d(0, 0.02, 0)) { Influence = 0 };
        JointPlacement[] carried = [.. Head.Automatic.Joints.Where(j => j.Joint.Parent == "jaw_hinge")];

        LatticePlacement alone = Revision.First(Head).After(move).Placement;
        LatticePlacement together = Revision.First(Head).After(move with { CarriesChildren = true }).Placement;

        Assert.NotEmpty(carried);
        Assert.All(carried, j => Assert.Equal(j, TemplateOwnHead.At(alone, j.Joint.Name)));
        Assert.All(carried, j =>
        {
            // What rides on the skin goes along it as far as its slope allows.
            double moved = TemplateOwnHead.Distance(together, Head.Automatic, j.Joint.Name);
            Assert.InRange(moved, j.Joint.Ride == Ride.Skin ? 0.001 : 0.02 - 1e-12, j.Joint.Ride == Ride.Skin ? 0.04 : 0.02 + 1e-12);
        });
    }

    [Fact]
    public void Joint_of_the_body_rig_is_refused_until_it_is_unlocked()
    {
        Revision locked = Revision.First(Head).After(new LockJoint("skullbase") { OfBodyRig = true });

        Assert.True(locked.Joint("skullbase") is { PositionLocked: true, RotationLocked: true });
        Assert.Throws<CorrectionException>(() => locked.After(Moved("skullbase", Vector3d.UnitX)));
        Assert.Throws<CorrectionException>(() => locked.After(new TurnJoint("skullbase", Rotation3d.Identity)));
        Assert.True(locked.After(new UnlockJoint("skullbase")).Corrections.IsEmpty);
    }

    [Fact]
    public void Unlocking_everything_gives_the_automatic_placement_back()
    {
        Revision edited = Revision.First(Head).After(Moved("brow_2_left", new(0, 0.04, 0))).After(new TurnJoint("pronasale", new Rotation3d(0, 0, 1, 0)));

        Revision free = edited.After(new UnlockJoint("brow_2_left")).After(new UnlockJoint("pronasale"));

        Assert.True(free.Corrections.IsEmpty);
        Assert.Equal(Head.Automatic.Joints, free.Placement.Joints);
    }

    [Fact]
    public void Unknown_joints_and_places_nowhere_are_refused_by_name()
    {
        Revision first = Revision.First(Head);

        Assert.Equal("no_such", Assert.Throws<CorrectionException>(() => first.After(new LockJoint("no_such"))).Subject);
        Assert.Equal("pronasale", Assert.Throws<CorrectionException>(
            () => first.After(new MoveJoint("pronasale", new Vector3d(double.NaN, 0, 0)))).Subject);
    }

    /// <summary>The template's eyes are balls about their centres.</summary>
    [Fact]
    public void Pivot_goes_to_the_middle_of_the_ball_that_was_pointed_at()
    {
        Vector3d centre = Head.AutomaticJoint("eye_centre_left")!.Position;
        int ball = Enumerable.Range(0, Head.HeadMesh.TriangleCount).MinBy(t => Vector3d.Distance(
            Head.HeadMesh.Position(new SurfacePoint(t, new Vector3d(1, 1, 1) / 3)), centre + (Vector3d.UnitZ * -0.2)));
        Revision off = Revision.First(Head).After(Moved("eye_centre_left", new(0.05, 0.02, 0)));

        Revision back = off.After(new PivotToPart("eye_centre_left", ball));

        Assert.True(Vector3d.Distance(centre, back.Joint("eye_centre_left").Position) < 0.01);
    }

    private static MoveJoint Moved(string name, Vector3d by) => new(name, Head.AutomaticJoint(name)!.Position + by);

    private static Revision Edited(Revision now, int kind, string name, Vector3d move, double influence) => kind switch
    {
        0 or 1 => now.After(new MoveJoint(name, now.Joint(name).Position + move)),
        2 => now.After(new MoveJoint(name, now.Joint(name).Position + move) { Influence = influence, AlongSkin = true }),
        3 => now.After(new MoveJoint(name, now.Joint(name).Position + move) { CarriesChildren = true }),
        4 => now.After(new LockJoint(name, Position: true, Rotation: true)),
        5 => now.After(new TurnJoint(name, new Rotation3d(move.X, move.Y, move.Z, 1).Normalized())),
        6 => now.After(new UnlockJoint(name)),
        _ => now.After(new MirrorJoints(Side.Left) { Region = now.Joint(name).Joint.Region }),
    };

    // What is locked after an edit is from then on expected to stay; only the edited joint itself may have changed.
    private static void Remember(Revision now, int kind, string name, Dictionary<string, Vector3d> positions, Dictionary<string, Rotation3d> rotations)
    {
        if (kind <= 6)
        {
            positions.Remove(name);
            rotations.Remove(name);
        }

        foreach (JointPlacement joint in now.Placement.Joints)
        {
            if (joint.PositionLocked)
            {
                positions.TryAdd(joint.Joint.Name, joint.Position);
            }

            if (joint.RotationLocked)
            {
                rotations.TryAdd(joint.Joint.Name, joint.Rotation);
            }
        }
    }
}
