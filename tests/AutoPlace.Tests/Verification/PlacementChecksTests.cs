using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Verification;

/// <summary>Each check stays silent on a flawless placement and speaks up about the fault that it is for.</summary>
public sealed class PlacementChecksTests
{
    private static readonly PlacementResult Clean = SampleHead.Result();

    [Fact]
    public void Flawless_placement_has_no_findings() => Assert.Empty(Run(Clean.Placement));

    [Fact]
    public void Flawless_placement_on_a_mesh_wound_the_wrong_way_has_no_findings()
    {
        TriangleMesh skin = Reversed(Clean.Skin.Mesh), head = Reversed(Clean.HeadMesh);

        Assert.Empty(PlacementChecks.Run(Clean.Placement, head, new BoundingVolumeHierarchy(skin), Clean.Landmarks));
    }

    [Theory]
    [InlineData(-0.03, Severity.Error)]
    [InlineData(-0.01, Severity.Warning)]
    [InlineData(0.09, Severity.Warning)]
    public void Surface_joint_off_its_lift_is_found(double clearance, Severity severity)
    {
        Finding finding = Single(Move("zygion_left", Lifted("zygion_left", clearance)), "clearance");

        Assert.Equal(("zygion_left", severity), (finding.Subject, finding.Severity));
        Assert.Equal(clearance > 0 ? clearance - SampleHead.Lift : clearance, finding.Value, 0.002);
    }

    [Fact]
    public void Joint_meant_to_lie_under_the_skin_may_lie_there()
    {
        LatticePlacement sunken = Change("zygion_left", j => j with { Lift = -0.1, Position = Lifted("zygion_left", -0.1) });

        Assert.DoesNotContain(Run(sunken), f => f.Check == "clearance");
    }

    /// <summary>What a person wants under the skin is no error, but it is said, also of a joint of a rigid group.</summary>
    [Fact]
    public void Joint_that_a_person_locked_under_the_skin_is_named_as_such()
    {
        LatticePlacement sunken = Change("zygion_left", j => j with { Lift = -0.16, Position = Lifted("zygion_left", -0.16), PositionLocked = true });

        foreach (LatticePlacement placement in (LatticePlacement[])[sunken, InGroup(sunken)])
        {
            Finding finding = Single(placement, "clearance");
            Assert.Equal(("zygion_left", Severity.Warning), Subject(finding));
            Assert.Equal(-0.16, finding.Value, 0.002);
            Assert.Contains("locked under the skin", finding.Message, StringComparison.Ordinal);
        }
    }

    /// <summary>The lift is what a person set elsewhere, the clearance what is measured here.</summary>
    [Theory]
    [InlineData(0.02, -0.16, Severity.Error)]
    [InlineData(0.02, 0.09, Severity.Warning)]
    [InlineData(-0.1, -0.16, Severity.Warning)]
    [InlineData(-0.1, 0.02, Severity.Warning)]
    public void Locked_joint_that_is_off_what_a_person_set_is_found(double set, double clearance, Severity severity)
    {
        Finding finding = Single(Change("zygion_left", j => j with { Lift = set, Position = Lifted("zygion_left", clearance), PositionLocked = true }), "clearance");

        Assert.Equal(("zygion_left", severity), Subject(finding));
        Assert.Contains("zygion_left is locked and", finding.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Joint_in_a_fold_is_judged_by_its_own_patch()
    {
        // The patch is on the far side of the head: seen from there the joint lies deep inside.
        int far = Enumerable.Range(0, Clean.HeadMesh.TriangleCount)
            .First(t => Clean.HeadMesh.Corners(t).A.Z < SampleHead.Centre.Z - SampleHead.SemiAxes.Z + 0.1);
        LatticePlacement placement = Change(
            "cheilion_left", j => j with { SkinPoint = new SurfacePoint(far, new Vector3d(1, 0, 0)) });

        Finding finding = Single(placement, "clearance");

        Assert.Equal(("cheilion_left", Severity.Error), (finding.Subject, finding.Severity));
    }

    /// <summary>One joint too far out and one too deep, as when a pair of glasses is kept in shape on another face: alone each is found, as one thing it fits.</summary>
    [Fact]
    public void Rigid_group_that_fits_as_a_whole_is_not_judged_by_its_joints()
    {
        LatticePlacement apart = Lift(0.12, ("zygion_left", 0.07), ("zygion_right", 0.17));

        Assert.Equal(["zygion_left", "zygion_right"], Run(apart).Where(f => f.Check == "clearance").Select(f => f.Subject).Order(StringComparer.Ordinal));
        Assert.DoesNotContain(Run(InGroup(apart)), f => f.Check == "clearance");
    }

    [Theory]
    [InlineData(0.2, 0.16, "farther out")]
    [InlineData(0.03, 0.09, "deeper")]
    public void Rigid_group_off_its_lift_is_found_once(double left, double right, string where)
    {
        Finding finding = Single(InGroup(Lift(0.12, ("zygion_left", left), ("zygion_right", right))), "clearance");

        Assert.Equal(("zygion_left", Severity.Warning), (finding.Subject, finding.Severity));
        Assert.Equal(Math.Abs(((left + right) / 2) - 0.12), finding.Value, 0.002);
        Assert.Contains($"glasses, zygion_left most, is {where}", finding.Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(-0.03, Severity.Error)]
    [InlineData(-0.01, Severity.Warning)]
    public void Deepest_joint_of_a_rigid_group_may_not_sink(double clearance, Severity severity)
    {
        Finding finding = Single(InGroup(Lift(0.02, ("zygion_left", clearance / 2), ("zygion_right", clearance))), "clearance");

        Assert.Equal(("zygion_right", severity), (finding.Subject, finding.Severity));
        Assert.Equal(clearance, finding.Value, 0.002);
    }

    [Fact]
    public void Curve_that_runs_under_the_skin_between_its_joints_is_found()
    {
        // Without the joints in between, the row cuts the corner from side to side.
        LatticePlacement chord = Clean.Placement with { Rows = [new JointSequence("chord", ["zygion_right", "zygion_left"])] };

        Finding finding = Single(chord, "row-curve");

        Assert.Equal(("chord", Severity.Error), (finding.Subject, finding.Severity));
        Assert.True(finding.Value < -0.5, finding.Message);
    }

    [Fact]
    public void Row_that_doubles_back_is_found()
    {
        Vector3d outer = Position("brow_3_left"), inner = Position("brow_2_left");
        LatticePlacement crossed = Move(("brow_3_left", inner), ("brow_2_left", outer));

        Assert.Contains(Run(crossed), f => f is { Check: "row-turn", Subject: "brow", Severity: Severity.Error });
        Assert.Contains(Run(crossed), f => f is { Check: "anatomical-order", Subject: "brow", Severity: Severity.Error });
    }

    [Fact]
    public void Row_may_turn_sharply_at_a_commissure()
    {
        JointSequence mouth = new("mouth", ["lip_upper_2_left", "cheilion_left", "lip_lower_2_left"]);

        Assert.DoesNotContain(Run(Clean.Placement with { Rows = [mouth] }), f => f.Check == "row-turn");
    }

    [Fact]
    public void Closed_row_turns_by_its_share_of_a_full_turn_and_may()
    {
        var ring = new JointSequence("ring", ["brow_3_left", "lip_upper_2_left", "lip_upper_2_right", "brow_3_right"], Closed: true);

        Assert.DoesNotContain(Run(Clean.Placement with { Rows = [ring] }), f => f.Check == "row-turn");
    }

    /// <summary>Each fault lies where the last joint of the ring is followed by the first; two joints make no ring.</summary>
    [Fact]
    public void Closed_row_is_judged_from_its_last_joint_to_the_first_too()
    {
        var ring = new JointSequence("ring", ["brow_3_left", "lip_upper_2_left", "lip_upper_2_right", "brow_3_right"], Closed: true);
        var pair = new JointSequence("pair", ["brow_3_left", "brow_3_right"], Closed: true);
        LatticePlacement near = Move(("brow_3_left", OnSkin(0.2, 0.35)), ("brow_3_right", OnSkin(-0.2, 0.35)));
        LatticePlacement turned = Change("brow_3_left", j => j with { Rotation = j.Rotation * new Rotation3d(1, 0, 0, 0) });
        LatticePlacement exchanged = Move(("brow_3_left", Position("brow_3_right")), ("brow_3_right", Position("brow_3_left")));

        Assert.Equal(["ring"], Found(near, ring, "spacing"));
        Assert.Equal(["ring", "ring"], Found(turned, ring, "frame-flip"));
        Assert.Equal(["ring"], Found(exchanged, ring, "anatomical-order"));
        Assert.Equal(["pair"], Found(near, pair, "spacing"));
        Assert.Equal(["pair"], Found(turned, pair, "frame-flip"));
        Assert.Equal(["pair"], Found(exchanged, pair, "anatomical-order"));

        static IEnumerable<string> Found(LatticePlacement placement, JointSequence row, string check) =>
            Run(placement with { Rows = [row], Columns = [] }).Where(f => f.Check == check && f.Subject == row.Name).Select(f => f.Subject);
    }

    [Fact]
    public void Row_may_turn_sharply_where_it_crosses_the_midline()
    {
        // A ridge as on the bridge of a nose, sharper than the template's.
        LatticePlacement ridge = Move("glabella", OnSkin(0, 0.35) + new Vector3d(0, 0, 0.4));

        Assert.DoesNotContain(Run(ridge), f => f is { Check: "row-turn", Subject: "brow" });
    }

    [Fact]
    public void Turn_between_target_and_limit_is_only_worth_knowing()
    {
        LatticePlacement bent = Move("brow_2_left", OnSkin(0.5, 0.55));

        Finding finding = Single(bent, "row-turn");

        Assert.Equal(Severity.Info, finding.Severity);
        Assert.InRange(finding.Value, 45, 90);
    }

    /// <summary>A row that turns on the template turns on other heads too, some degrees more or less.</summary>
    [Theory]
    [InlineData(0, 46, 45.0)]
    [InlineData(44.9, 48, null)]
    [InlineData(44.9, 62, 59.9)]
    [InlineData(25, 46, 45.0)]
    public void Turn_that_the_template_has_is_allowed_for(double own, double turn, double? limit)
    {
        Finding[] found = [.. Run(Corner(own, turn)).Where(f => f is { Check: "row-turn", Subject: "corner" })];

        Assert.Equal(limit is null ? [] : [(Severity.Info, limit.Value)], found.Select(f => (f.Severity, Math.Round(f.Limit, 6))));
        Assert.All(found, f => Assert.Equal(turn, f.Value, 1e-6));
    }

    [Fact]
    public void Right_angle_is_an_error_whatever_the_template_has() =>
        Assert.Contains(Run(Corner(80, 91)), f => f is { Check: "row-turn", Subject: "corner", Severity: Severity.Error, Limit: 90 });

    [Fact]
    public void Frame_turned_over_about_its_row_is_found()
    {
        LatticePlacement flipped = Change(
            "brow_2_left", j => j with { Rotation = j.Rotation * new Rotation3d(1, 0, 0, 0) });

        Assert.All(Run(flipped), f => Assert.Equal(("frame-flip", "brow", Severity.Error), (f.Check, f.Subject, f.Severity)));
        Assert.Equal(2, Run(flipped).Count);
    }

    [Fact]
    public void Head_upside_down_is_found()
    {
        Landmark[] landmarks = [.. Clean.Landmarks.Select(l => l with { Position = new(l.Position.X, -l.Position.Y, l.Position.Z) })];

        Assert.Contains(Run(Clean.Placement, landmarks), f => f is { Check: "anatomical-order", Subject: "subnasale", Severity: Severity.Error });
    }

    [Fact]
    public void Exchanged_sides_are_found()
    {
        LatticePlacement exchanged = Move(("zygion_left", Position("zygion_right")), ("zygion_right", Position("zygion_left")));

        Assert.Equal(("zygion_left", Severity.Error), Subject(Single(exchanged, "anatomical-order")));
    }

    /// <summary>Own rigs call their sides as they like; which joints are a pair stands in the template.</summary>
    [Theory]
    [InlineData("L_{0}_01", "R_{0}_01")]
    [InlineData("{0}.l", "{0}.r")]
    public void Pairs_of_an_own_rig_are_judged_whatever_they_are_called(string left, string right)
    {
        LatticePlacement exchanged = Move(("zygion_left", Position("zygion_right")), ("zygion_right", Position("zygion_left")));
        LatticePlacement skewed = Move(
            ("brow_1_left", OnSkin(0.25, 0.45)), ("brow_2_left", OnSkin(0.5, 0.45)), ("brow_3_left", OnSkin(0.75, 0.45)));
        LatticePlacement alone = Clean.Placement with
        {
            Joints = [.. Clean.Placement.Joints.Where(j => j.Joint.Name != "zygion_right")],
        };

        Assert.Empty(Run(Renamed(Clean.Placement)));
        Finding crossed = Single(Renamed(exchanged), "anatomical-order");
        Assert.Equal((Name("zygion_left"), Severity.Error), Subject(crossed));
        Assert.Contains(Name("zygion_right"), crossed.Message, StringComparison.Ordinal);
        Assert.Equal(("brow", Severity.Info), Subject(Single(Renamed(skewed), "bilateral-symmetry")));
        Assert.Equal((Name("zygion_left"), Severity.Warning), Subject(Single(Renamed(alone), "twins")));

        string Name(string name) => name.EndsWith("_left", StringComparison.Ordinal) ? left.Replace("{0}", name[..^5], StringComparison.Ordinal)
            : name.EndsWith("_right", StringComparison.Ordinal) ? right.Replace("{0}", name[..^6], StringComparison.Ordinal)
            : name;
        LatticePlacement Renamed(LatticePlacement placement) => new(
            [.. placement.Joints.Select(j => j with
            {
                Joint = j.Joint with
                {
                    Name = Name(j.Joint.Name),
                    Parent = j.Joint.Parent is { } parent ? Name(parent) : null,
                    Twin = LandmarkNames.Mirror(j.Joint.Name) is var twin && twin != j.Joint.Name ? Name(twin) : null,
                },
            })],
            [.. placement.Rows.Select(row => row with { Joints = [.. row.Joints.Select(Name)] })],
            [.. placement.Columns.Select(column => column with { Joints = [.. column.Joints.Select(Name)] })]);
    }

    [Fact]
    public void Joints_that_fell_together_are_found()
    {
        LatticePlacement together = Move("lip_upper_1_left", Position("lip_upper_2_left"));

        Assert.Contains(Run(together), f => f is { Check: "spacing", Severity: Severity.Error });
    }

    [Fact]
    public void Joints_that_coincide_in_the_template_must_stay_together()
    {
        ControlJoint twin = SampleHead.Lattice.Joints.Single(j => j.Name == "menton") with { Name = "menton_control" };
        LatticePlacement together = Clean.Placement with { Joints = [.. Clean.Placement.Joints, SampleHead.Place(twin)] };
        LatticePlacement apart = together with
        {
            Joints = [.. Clean.Placement.Joints, SampleHead.Place(twin) with { Position = OnSkin(0, -1.81) }],
        };

        Assert.Empty(Run(together));
        Assert.Equal(("menton_control", Severity.Error), Subject(Single(apart, "spacing")));
    }

    [Fact]
    public void Uneven_spans_are_found()
    {
        Assert.Equal(("brow", Severity.Warning), Subject(Single(Move("brow_1_left", OnSkin(0.06, 0.35)), "spacing")));
    }

    [Fact]
    public void Asymmetry_is_reported_by_region()
    {
        LatticePlacement skewed = Move(
            ("brow_1_left", OnSkin(0.25, 0.45)), ("brow_2_left", OnSkin(0.5, 0.45)), ("brow_3_left", OnSkin(0.75, 0.45)));

        Assert.Equal(("brow", Severity.Info), Subject(Single(skewed, "bilateral-symmetry")));
    }

    [Fact]
    public void Three_proportions_out_of_range_are_a_warning_and_two_are_not()
    {
        // The length of the face is in two ratios, the breadth of the cheeks in three more.
        Landmark[] longFace = [.. Clean.Landmarks.Select(l => l.Name == "menton" ? l with { Position = l.Position - new Vector3d(0, 0.8, 0) } : l)];
        LatticePlacement narrow = Move(
            ("zygion_left", new Vector3d(0.7, -0.3, 0)), ("zygion_right", new Vector3d(-0.7, -0.3, 0)));

        Assert.DoesNotContain(Run(Clean.Placement, longFace), f => f.Check == "proportions");
        Finding finding = Single(narrow, "proportions");
        Assert.Equal(("head", Severity.Warning), Subject(finding));
        Assert.Equal(3, finding.Value);
    }

    [Fact]
    public void Missing_required_landmark_is_found()
    {
        Landmark[] landmarks = [.. Clean.Landmarks.Select(l => l.Name == "subnasale" ? l with { Source = LandmarkSource.Inferred } : l)];

        Assert.Contains(Run(Clean.Placement, landmarks), f => f is { Check: "landmark-missing", Subject: "subnasale" });
    }

    [Fact]
    public void Uncertain_landmark_is_found()
    {
        Landmark[] landmarks = [.. Clean.Landmarks.Select(l => l.Name == "subnasale" ? l with { Covariance = Matrix3d.Identity * 0.04 } : l)];

        Assert.Contains(Run(Clean.Placement, landmarks), f => f is { Check: "landmark-uncertainty", Subject: "subnasale" });
    }

    [Fact]
    public void Joint_away_from_the_landmark_of_its_name_is_found() =>
        Assert.Equal(("pronasale", Severity.Warning), Subject(Single(Move("pronasale", OnSkin(0, -0.35)), "landmark-agreement")));

    [Fact]
    public void Joint_off_the_midline_is_found() =>
        Assert.Equal(("pogonion", Severity.Warning), Subject(Single(Move("pogonion", OnSkin(0.08, -1.6)), "midline")));

    /// <summary>What a template calls a joint of the midline is one, though its file has it off by a hair.</summary>
    [Fact]
    public void Joint_of_the_midline_that_the_template_has_a_hair_beside_it_is_judged_all_the_same()
    {
        LatticePlacement off = Change("pogonion", j => j with { Joint = j.Joint with { Position = j.Joint.Position with { X = 3e-4 } }, Position = OnSkin(0.08, -1.6) });

        Assert.Equal(("pogonion", Severity.Warning), Subject(Single(off, "midline")));
    }

    [Fact]
    public void Pose_that_is_no_pose_is_found()
    {
        LatticePlacement nowhere = Move("menton", new Vector3d(double.NaN, 0, 0));
        LatticePlacement unturned = Change("menton", j => j with { Rotation = default });

        Assert.Equal(("menton", Severity.Error), Subject(Assert.Single(Run(nowhere))));
        Assert.Equal(("menton", Severity.Error), Subject(Single(unturned, "pose")));
    }

    [Fact]
    public void Child_before_its_parent_is_found()
    {
        LatticePlacement reversed = Clean.Placement with { Joints = [.. Clean.Placement.Joints.Reverse()] };

        Assert.Contains(Run(reversed), f => f is { Check: "parents", Subject: "jaw_hinge", Severity: Severity.Error });
    }

    [Fact]
    public void Joint_without_its_twin_is_found()
    {
        LatticePlacement alone = Clean.Placement with
        {
            Joints = [.. Clean.Placement.Joints.Where(j => j.Joint.Name != "zygion_right")],
        };

        Assert.Equal(("zygion_left", Severity.Warning), Subject(Single(alone, "twins")));
    }

    [Fact]
    public void Worst_findings_come_first()
    {
        LatticePlacement bad = Move(("zygion_left", Lifted("zygion_left", 0.09)), ("zygion_right", Lifted("zygion_right", -0.05)));

        IReadOnlyList<Finding> findings = Run(bad);

        Assert.Equal(findings.OrderByDescending(f => f.Severity), findings);
        Assert.Equal("zygion_right", findings[0].Subject);
    }

    [Fact]
    public void Head_without_a_loop_for_its_rows_says_so()
    {
        LatticePlacement placement = Clean.Placement with { Loops = [new RowsOnLoop(["lip_upper"], new HashSet<string>(), null, 0)] };

        Assert.Equal(("lip_upper", Severity.Info), Subject(Single(placement, "edge-loop")));
    }

    [Theory]
    [InlineData(0.4, false)]
    [InlineData(0.6, true)]
    public void Joint_beside_the_loop_of_its_row_is_found(double edges, bool found)
    {
        // A triangle whose longest edge runs past the joint's foot, so many of its own lengths away.
        LatticePlacement placed = Change("zygion_left", j => j with { SkinPoint = new SurfacePoint(0, new Vector3d(1, 0, 0)) });
        Vector3d foot = Clean.HeadMesh.Position(new SurfacePoint(0, new Vector3d(1, 0, 0))), past = foot + new Vector3d(0, 0.1 * edges, 0);
        var line = new PolygonalChain([past - new Vector3d(0.05, 0, 0), past + new Vector3d(0.05, 0, 0), past + new Vector3d(0, 0.08, 0)], closed: true);
        LatticePlacement placement = placed with { Loops = [new RowsOnLoop(["row"], new HashSet<string> { "zygion_left" }, line, 1)] };

        Finding? finding = Run(placement).SingleOrDefault(f => f.Check == "edge-loop");

        Assert.Equal(found, finding is not null);
        Assert.Equal(edges, finding?.Value ?? edges, 1e-9);
    }

    private static IReadOnlyList<Finding> Run(LatticePlacement placement, IReadOnlyList<Landmark>? landmarks = null) =>
        PlacementChecks.Run(placement, Clean.HeadMesh, Clean.Skin, landmarks ?? Clean.Landmarks);

    private static Finding Single(LatticePlacement placement, string check) =>
        Assert.Single(Run(placement), f => f.Check == check);

    private static (string Subject, Severity Severity) Subject(Finding finding) => (finding.Subject, finding.Severity);

    private static LatticePlacement Move(string name, Vector3d position) => Move((name, position));

    private static LatticePlacement Move(params (string Name, Vector3d Position)[] moves)
    {
        Dictionary<string, Vector3d> to = moves.ToDictionary(m => m.Name, m => m.Position);
        return Clean.Placement with
        {
            Joints = [.. Clean.Placement.Joints.Select(j => to.TryGetValue(j.Joint.Name, out Vector3d p) ? j with { Position = p } : j)],
        };
    }

    private static LatticePlacement Change(string name, Func<JointPlacement, JointPlacement> change) => Clean.Placement with
    {
        Joints = [.. Clean.Placement.Joints.Select(j => j.Joint.Name == name ? change(j) : j)],
    };

    // Joints with a lift, at clearances.
    private static LatticePlacement Lift(double lift, params (string Name, double Clearance)[] joints) => joints.Aggregate(
        Clean.Placement,
        (placement, joint) => placement with
        {
            Joints = [.. placement.Joints.Select(j => j.Joint.Name == joint.Name ? j with { Lift = lift, Position = Lifted(joint.Name, joint.Clearance) } : j)],
        });

    private static LatticePlacement InGroup(LatticePlacement placement) => placement with
    {
        Joints = [.. placement.Joints.Select(j => j.Joint.Name.StartsWith("zygion", StringComparison.Ordinal)
            ? j with { Joint = j.Joint with { RigidGroup = "glasses" } }
            : j)],
    };

    // A row of three joints that turns by so many degrees on the template and on the head.
    private static LatticePlacement Corner(double ownDegrees, double degrees)
    {
        static Vector3d[] Bent(double by) => [new(-0.2, 0, 0), Vector3d.Zero, new Vector3d(Math.Cos(double.DegreesToRadians(by)), Math.Sin(double.DegreesToRadians(by)), 0) * 0.2];
        JointPlacement joint = Clean.Placement.Joints.Single(j => j.Joint.Name == "zygion_left");
        string[] names = ["first", "second", "third"];
        return Clean.Placement with
        {
            Joints = [.. Clean.Placement.Joints, .. names.Select((name, i) => joint with { Joint = joint.Joint with { Name = name, Position = Bent(ownDegrees)[i] }, Position = Bent(degrees)[i] })],
            Rows = [new JointSequence("corner", names)],
        };
    }

    private static Vector3d Position(string name) => SampleHead.Lattice.Joints.Single(j => j.Name == name).Position;

    private static Vector3d OnSkin(double x, double y)
    {
        (Vector3d point, Vector3d normal) = SampleHead.Front(x, y);
        return point + (normal * SampleHead.Lift);
    }

    private static Vector3d Lifted(string name, double lift)
    {
        Vector3d skin = SampleHead.Lattice.Joints.Single(j => j.Name == name).SkinPoint!.Value;
        (Vector3d point, Vector3d normal) = SampleHead.Front(skin.X, skin.Y);
        return point + (normal * lift);
    }

    private static TriangleMesh Reversed(TriangleMesh mesh)
    {
        int[] indices = mesh.Indices.ToArray();
        for (int i = 0; i < indices.Length; i += 3)
        {
            (indices[i + 1], indices[i + 2]) = (indices[i + 2], indices[i + 1]);
        }

        return new TriangleMesh(mesh.Positions.ToArray(), indices);
    }
}
