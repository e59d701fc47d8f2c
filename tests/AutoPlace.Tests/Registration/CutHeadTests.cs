using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Cast;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using AutoPlace.Tests.Heads;
using AutoPlace.Tests.Rigs;
using Xunit;

namespace AutoPlace.Tests.Registration;

/// <summary>Heads that have a part of the template's skin: it was cut, or other skin was welded to it.</summary>
public sealed class CutHeadTests(RigHeads heads) : IClassFixture<RigHeads>
{
    /// <summary>What single-precision positions leave, interocular distances.</summary>
    private const double Rounding = 1e-5;

    private static readonly TemplateHead Template = BuiltInTemplate.Load();
    private static readonly HeadScan Own = TemplateScan.Of(Template);

    private static readonly Dictionary<string, Func<Vector3d, bool>> Cuts = new(StringComparer.Ordinal)
    {
        ["neck cut low"] = p => p.Y > -2.2,
        ["neck cut under the jaw"] = p => p.Y > -1.9 - (0.3 * p.Z),
        ["no back"] = p => p.Z > -1.2,
        ["no ears, no back"] = p => p.Z > -0.7,
        ["no left ear"] = p => p.X < 1.1 || p.Z > -0.9,
        ["hole in a cheek"] = p => (p - new Vector3d(0.7, -0.9, 0.4)).Length > 0.2,
        ["no left eye socket"] = p => (p - Template.Landmarks["eye_centre_left"]).Length > 0.45,
        ["mouth cut out"] = p => (p - Template.Landmarks["stomion"]).Length > 0.5,
        ["skull open on a slant"] = p => p.Y < 0.9 + (0.4 * p.X) + (0.3 * p.Z),
    };

    public static TheoryData<string, string> CutsOfHeads =>
        [.. from cut in Cuts.Keys from head in (string[])["maren", "lysk", "osric"] select (cut, head)];

    /// <summary>
    /// On skin that is there joints are where the whole head has them, to the last digits; on the edge of a cut they are
    /// where the change of space puts them, to within what a triangle's own change differs from it. Others are inferred, the
    /// back of the crown, one interocular distance from what is left, a quarter of it off at most.
    /// </summary>
    [Theory]
    [MemberData(nameof(CutsOfHeads))]
    public void Joints_on_what_is_left_of_the_skin_are_carried_exactly(string cut, string name)
    {
        PuppetShape shape = DemoCast.ShapeOf(Template, LanternMarket.Cast.Single(puppet => puppet.Name == name));
        Vector3d[] truth = TrueLattice.Joints(Template, shape);
        HeadScan whole = ScanVariants.Mapped(Own, shape.Apply);

        (LatticePlacement placement, CarriedHead head) = Carry(ScanVariants.Shuffled(Cut(whole, Cuts[cut]), 3));

        (LatticePlacement expected, CarriedHead wholeHead) = Carry(whole);
        double unit = wholeHead.Frame.InterocularDistance;
        (HashSet<string> off, HashSet<string> onEdge) = OffSkin(Cuts[cut]);
        foreach ((JointPlacement joint, int i) in placement.Joints.Select((joint, i) => (joint, i)).Where(at => at.joint.Joint.Ride == Ride.Skin))
        {
            Vector3d at = head.Frame.ToFile(joint.Position);
            if (off.Contains(joint.Joint.Name))
            {
                Assert.Equal(JointState.Inferred, joint.State);
                Assert.True(Vector3d.Distance(at, truth[i]) < 0.25 * unit, joint.Joint.Name);
            }
            else
            {
                Assert.Equal(JointState.Modelled, joint.State);
                double within = onEdge.Contains(joint.Joint.Name) ? 0.005 : Rounding;
                Assert.True(Vector3d.Distance(at, wholeHead.Frame.ToFile(expected.Joints[i].Position)) < within * unit, joint.Joint.Name);
                Assert.True(Vector3d.Distance(at, truth[i]) < 0.005 * unit, joint.Joint.Name);
            }
        }
    }

    /// <summary>The same topology mirrored: what was left is right, and the ear that is missing is the other one.</summary>
    [Fact]
    public void Mirrored_head_without_an_ear_is_carried_with_its_sides_changed()
    {
        Func<Vector3d, bool> keep = Cuts["no left ear"];
        HeadScan mirrored = ScanVariants.Shuffled(ScanVariants.Mapped(Cut(Own, keep), p => p with { X = -p.X }, mirrors: true), 4);

        (LatticePlacement placement, CarriedHead head) = Carry(mirrored);

        HashSet<string> off = OffSkin(keep).Off;
        Assert.Contains("ear_top_left", off);
        foreach (JointPlacement joint in placement.Joints.Where(joint => joint.Joint.Ride == Ride.Skin))
        {
            string name = joint.Joint.Name;
            string twin = name.EndsWith("_left", StringComparison.Ordinal) ? name[..^5] + "_right" : name.EndsWith("_right", StringComparison.Ordinal) ? name[..^6] + "_left" : name;
            Assert.Equal(off.Contains(twin) ? JointState.Inferred : JointState.Modelled, joint.State);
            Vector3d mirror = Template.Lattice.Joints.Single(other => other.Name == twin).Position;
            Assert.True(off.Contains(twin) || Vector3d.Distance(head.Frame.ToFile(joint.Position), mirror with { X = -mirror.X }) < 1e-3, name);
        }
    }

    [Fact]
    public void Cut_head_inside_out_or_twice_in_a_file_is_not_taken_for_the_template()
    {
        HeadScan cut = Cut(Own, Cuts["no back"]);
        HeadScan insideOut = ScanVariants.Mapped(cut, p => p with { X = -p.X });
        TemplateHead? numbered = Template.NumberedAs(insideOut.Mesh);

        Assert.True(numbered is null || CarriedHead.Recognise(numbered, insideOut) is null);
        Assert.NotNull(Template.NumberedAs(cut.Mesh));
        Assert.Null(Template.NumberedAs(Joined(cut.Mesh, ScanVariants.Mapped(cut, p => p + (Vector3d.UnitX * 5)).Mesh)));
    }

    /// <summary>
    /// The neck goes on into shoulders: two rows of quads on every edge of the template's own border, or of a ragged cut above it,
    /// near which joints are inferred; all in another order.
    /// </summary>
    [Theory]
    [InlineData(-10, 159)]
    [InlineData(-2.1, 120)]
    public void Head_with_a_body_welded_to_its_neck_is_carried_as_exactly(double cutAt, int fewest)
    {
        HeadScan cut = Cut(Own, p => p.Y > cutAt);
        PolygonMesh dressed = WithSkirt(cut.Mesh, out int skirt);
        HeadScan scan = ScanVariants.Shuffled(ScanVariants.With(cut, dressed, [.. cut.FaceParts, .. Enumerable.Repeat(0, skirt)]), 8);

        (LatticePlacement placement, CarriedHead head) = Carry(scan);

        Assert.True(cutAt > -3 || Template.NumberedAs(scan.Mesh)!.FaceParts.Count(part => part == TemplateHead.ForeignPart) == skirt);
        AssertRight(placement, head, joint => Template.Lattice.Joints.Single(other => other.Name == joint).Position, fewest);
    }

    /// <summary>An ear in other polygons, welded in: no joint is said to lie on the template's skin but where it does, and most are.</summary>
    [Fact]
    public void Remodelled_ear_is_not_taken_for_the_templates()
    {
        PuppetShape shape = DemoCast.ShapeOf(Template, LanternMarket.Cast.Single(puppet => puppet.Name == "osric"));
        HeadScan whole = ScanVariants.Mapped(Own, shape.Apply);
        (PolygonMesh mesh, int[] parts) = InFans(whole, f => Template.FaceParts[f] != "skin" || Cuts["no left ear"](Middle(Own.Mesh, f)));

        (LatticePlacement placement, CarriedHead head) = Carry(ScanVariants.Shuffled(ScanVariants.With(whole, mesh, parts), 6));

        (LatticePlacement expected, CarriedHead wholeHead) = Carry(whole);
        HashSet<string> off = OffSkin(Cuts["no left ear"]).Off;
        Assert.All(placement.Joints.Where(joint => off.Contains(joint.Joint.Name)), joint => Assert.Equal(JointState.Inferred, joint.State));
        AssertRight(placement, head, joint => wholeHead.Frame.ToFile(expected.Joints.Single(other => other.Joint.Name == joint).Position), 100);
    }

    /// <summary>
    /// A loop of edges put in across the cheeks, over the bridge of the nose or down the side of the face leaves too little for sure;
    /// one in the rows round a lid, the lips or the neck shows nowhere but in their widths, and could be one put at their border.
    /// With one over the brows, inside the lips or round an ear, rows that look alike are not mixed up.
    /// </summary>
    [Theory]
    [InlineData(0.307, -0.270, 0.298, false)]
    [InlineData(0, -0.318, 0.693, false)]
    [InlineData(0.762, -0.291, 0.139, false)]
    [InlineData(0.19275, -0.03350, 0.25995, false)]
    [InlineData(-0.19275, -0.03350, 0.25995, false)]
    [InlineData(0.35545, -0.06486, 0.19906, false)]
    [InlineData(0, -1.477, 0.480, false)]
    [InlineData(0.251, -0.817, 0.458, false)]
    [InlineData(0.851, -1.479, -0.676, false)]
    [InlineData(0, -2.107, -0.397, false)]
    [InlineData(0.596, 0.306, 0.322, true)]
    [InlineData(0.190, -1.288, 0.519, true)]
    [InlineData(1.23125, -0.14500, -1.03000, true)]
    public void Loop_that_was_put_in_leaves_no_joint_in_the_wrong_row(double x, double y, double z, bool carried)
    {
        foreach ((float share, int seed) in (ReadOnlySpan<(float, int)>)[(0.3f, 3), (0.5f, 4), (0.75f, 5)])
        {
            HeadScan scan = ScanVariants.Shuffled(WithLoop(Own, new Vector3d(x, y, z), share), seed);
            Assert.InRange(scan.Mesh.FaceCount, Own.Mesh.FaceCount + 10, Own.Mesh.FaceCount + 200);

            Assert.Equal(carried, Template.NumberedAs(scan.Mesh) is not null);
            if (carried)
            {
                (LatticePlacement placement, CarriedHead head) = Carry(scan);
                AssertRight(placement, head, joint => Template.Lattice.Joints.Single(other => other.Name == joint).Position, 80);
            }
        }
    }

    // Joints that are said to lie on skin do so, to within what the triangles on both sides of an edge differ by.
    private static void AssertRight(LatticePlacement placement, CarriedHead head, Func<string, Vector3d> expected, int fewest)
    {
        JointPlacement[] modelled = [.. placement.Joints.Where(joint => joint.Joint.Ride == Ride.Skin && joint.State == JointState.Modelled)];
        Assert.True(modelled.Length >= fewest, $"{modelled.Length}");
        Assert.All(modelled, joint => Assert.True(
            Vector3d.Distance(head.Frame.ToFile(joint.Position), expected(joint.Joint.Name)) < 0.005 * head.Frame.InterocularDistance, joint.Joint.Name));
    }

    // Every quad of the strip across the edge that has its middle nearest to a point is cut in two along the strip, so far from one side of it.
    private static HeadScan WithLoop(HeadScan scan, Vector3d near, float share)
    {
        var adjacency = new MeshAdjacency(scan.Mesh);
        var positions = scan.Mesh.Positions.ToArray().ToList();
        Vector3d MiddleOf(MeshEdge edge) => ((Vector3d)Own.Mesh.Positions[edge.Low] + Own.Mesh.Positions[edge.High]) * 0.5;
        var middles = new Dictionary<int, int>();
        int first = Enumerable.Range(0, adjacency.EdgeCount).MinBy(e => (MiddleOf(adjacency.Edges[e]) - near).LengthSquared);
        var open = new Stack<(int Edge, int From)>([(first, adjacency.Edges[first].Low)]);
        while (open.TryPop(out (int Edge, int From) at))
        {
            if (middles.TryAdd(at.Edge, positions.Count))
            {
                int to = adjacency.Edges[at.Edge].Low + adjacency.Edges[at.Edge].High - at.From;
                positions.Add(System.Numerics.Vector3.Lerp(positions[at.From], positions[to], share));
                foreach (int f in adjacency.EdgeFaces(at.Edge))
                {
                    int k = adjacency.FaceEdges(f).IndexOf(at.Edge);
                    open.Push((adjacency.FaceEdges(f)[(k + 2) % 4], scan.Mesh.Face(f)[scan.Mesh.Face(f)[k] == at.From ? (k + 3) % 4 : (k + 2) % 4]));
                }
            }
        }

        var (starts, corners, parts) = (new List<int> { 0 }, new List<int>(), new List<int>());
        for (int f = 0; f < scan.Mesh.FaceCount; f++)
        {
            int[] c = scan.Mesh.Face(f).ToArray(), edges = adjacency.FaceEdges(f).ToArray();
            int k = Array.FindIndex(edges, middles.ContainsKey);
            int[][] cut = k < 0 ? [c]
                : [[c[k], middles[edges[k]], middles[edges[(k + 2) % 4]], c[(k + 3) % 4]], [middles[edges[k]], c[(k + 1) % 4], c[(k + 2) % 4], middles[edges[(k + 2) % 4]]]];
            foreach (int[] face in cut)
            {
                corners.AddRange(face);
                starts.Add(corners.Count);
                parts.Add(scan.FaceParts[f]);
            }
        }

        return ScanVariants.With(scan, new PolygonMesh([.. positions], [.. starts], [.. corners]), parts);
    }

    /// <summary>Plain grids of quads look alike nearly everywhere, and like the template's skull.</summary>
    [Fact]
    public void Heads_of_other_topology_are_not_recognised()
    {
        Assert.Null(Template.NumberedAs(new PolygonMesh([.. Shapes.CubeSphere(40).Positions.ToArray().Select(Shapes.ToLump)], Shapes.CubeSphere(40).FaceStarts.ToArray(), Shapes.CubeSphere(40).FaceVertices.ToArray())));
        Assert.Null(Template.NumberedAs(Shapes.Grid(80, 60)));
        Assert.Null(Template.NumberedAs(Read("meridians")));
        foreach (TruthFile truth in Demo.DemoFolder.Truths.Values)
        {
            Assert.Null(Template.NumberedAs(MeshReader.Read(truth.MeshPath).Mesh));
        }
    }

    private static PolygonMesh Read(string name, [System.Runtime.CompilerServices.CallerFilePath] string path = "") =>
        MeshReader.Read(Path.Combine(Path.GetDirectoryName(path)!, "..", "Heads", $"{name}.glb")).Mesh;

    [Fact]
    public void Pipeline_carries_a_cut_head()
    {
        PlacementOptions own = PlacementOptions.Default with { Template = Template };

        PlacementResult whole = heads.Run(Own, own), cut = heads.Run(ScanVariants.Shuffled(Cut(Own, Cuts["no back"]), 2), own);

        Assert.Null(cut.Registration);
        (HashSet<string> off, _) = OffSkin(Cuts["no back"]);
        Assert.All(
            whole.Placement.Joints.Zip(cut.Placement.Joints).Where(pair => pair.First.Joint.Ride == Ride.Skin && !off.Contains(pair.First.Joint.Name)),
            pair => Assert.True(Vector3d.Distance(whole.Frame.ToFile(pair.First.Position), cut.Frame.ToFile(pair.Second.Position)) < Rounding, pair.First.Joint.Name));
    }

    /// <summary>An own rig's template whose head lost its neck: joints come back where they are on the whole head.</summary>
    [Fact]
    public void Own_rig_is_carried_onto_its_own_head_when_that_was_cut()
    {
        TruthFile truth = RigHeads.Truth("maren");
        TemplateHead template = heads.Template("maren", DemoRig.Of(truth));
        HeadScan whole = MeshReader.Read(truth.MeshPath);
        double neck = Vector3d.Dot(truth.Joints["menton"], truth.Up);
        int[] left = [.. Enumerable.Range(0, whole.Mesh.FaceCount).Where(f => Vector3d.Dot(Middle(whole.Mesh, f), truth.Up) > neck)];
        HeadScan cut = ScanVariants.Shuffled(ScanVariants.With(whole, whole.Mesh.Subset(left, out _), [.. left.Select(f => whole.FaceParts[f])]), 12);

        PlacementResult placed = heads.Run(cut, PlacementOptions.Default with { Template = template });

        Assert.Null(placed.Registration);
        var on = placed.Placement.Joints.Where(joint => joint.Joint.Ride == Ride.Skin && joint.State == JointState.Modelled).ToList();
        Assert.True(on.Count > 100, $"{on.Count}");
        Assert.Contains(placed.Placement.Joints, joint => joint.Joint.Ride == Ride.Skin && joint.State == JointState.Inferred);
        Assert.All(on, joint => Assert.True(
            Vector3d.Distance(placed.Frame.ToFile(joint.Position), truth.Joints[joint.Joint.Name]) < 0.001 * truth.InterocularDistance, joint.Joint.Name));
    }

    // Joints under which no face that is left lies as near as the template's skin does, and those on the edge of the cut.
    private static (HashSet<string> Off, HashSet<string> OnEdge) OffSkin(Func<Vector3d, bool> keep)
    {
        TriangleMesh triangles = Template.Mesh.Triangulate(out int[] faces);
        ILookup<bool, int> skin = Enumerable.Range(0, faces.Length).Where(t => Template.FaceParts[faces[t]] == "skin").ToLookup(t => keep(Middle(Template.Mesh, faces[t])));
        var (left, cut) = (new BoundingVolumeHierarchy(triangles.Subset([.. skin[true]])), new BoundingVolumeHierarchy(triangles.Subset([.. skin[false]])));
        var farther = Template.Lattice.Joints.Where(joint => joint is { Ride: Ride.Skin, SkinPoint: not null }).ToDictionary(
            joint => joint.Name,
            joint => left.ClosestPoint((System.Numerics.Vector3)joint.SkinPoint!.Value).Distance - cut.ClosestPoint((System.Numerics.Vector3)joint.SkinPoint.Value).Distance);
        return ([.. farther.Where(by => by.Value > Rounding).Select(by => by.Key)], [.. farther.Where(by => Math.Abs(by.Value) <= Rounding).Select(by => by.Key)]);
    }

    // Faces of the skin by where the template has their middles; everything else stays.
    private static HeadScan Cut(HeadScan scan, Func<Vector3d, bool> keep)
    {
        int[] left = [.. Enumerable.Range(0, scan.Mesh.FaceCount).Where(f => Template.FaceParts[f] != "skin" || keep(Middle(Template.Mesh, f)))];
        return ScanVariants.With(scan, scan.Mesh.Subset(left, out _), [.. left.Select(f => scan.FaceParts[f])]);
    }

    private static Vector3d Middle(PolygonMesh mesh, int face)
    {
        Vector3d sum = Vector3d.Zero;
        foreach (int v in mesh.Face(face))
        {
            sum += mesh.Positions[v];
        }

        return sum / mesh.Face(face).Length;
    }

    private static PolygonMesh Joined(PolygonMesh mesh, PolygonMesh other) => new(
        [.. mesh.Positions, .. other.Positions],
        [.. mesh.FaceStarts, .. other.FaceStarts[1..].ToArray().Select(start => mesh.FaceStarts[^1] + start)],
        [.. mesh.FaceVertices, .. other.FaceVertices.ToArray().Select(v => mesh.VertexCount + v)]);

    // Two rows of quads below the lowest border, which runs the other way than the faces above it.
    private static PolygonMesh WithSkirt(PolygonMesh mesh, out int faces)
    {
        var adjacency = new MeshAdjacency(mesh);
        var positions = mesh.Positions.ToArray().ToList();
        var (starts, corners) = (mesh.FaceStarts.ToArray().ToList(), mesh.FaceVertices.ToArray().ToList());
        float lowest = positions.Min(p => p.Y);
        (int From, int To)[] border = [.. Enumerable.Range(0, mesh.FaceCount).SelectMany(f => Enumerable.Range(0, mesh.Face(f).Length).Select(k => (f, k)))
            .Where(at => adjacency.IsBorderEdge(adjacency.FaceEdges(at.f)[at.k]))
            .Select(at => (mesh.Face(at.f)[at.k], mesh.Face(at.f)[(at.k + 1) % mesh.Face(at.f).Length]))
            .Where(edge => positions[edge.Item1].Y < lowest + 0.5f && positions[edge.Item2].Y < lowest + 0.5f)];
        faces = 0;
        for (int row = 0; row < 2; row++)
        {
            var below = new Dictionary<int, int>();
            foreach (int v in border.SelectMany(edge => (int[])[edge.From, edge.To]).Distinct())
            {
                below.Add(v, positions.Count);
                positions.Add(new System.Numerics.Vector3(positions[v].X * 1.4f, positions[v].Y - 0.3f, positions[v].Z * 1.2f));
            }

            foreach ((int from, int to) in border)
            {
                corners.AddRange([to, from, below[from], below[to]]);
                starts.Add(corners.Count);
                faces++;
            }

            border = [.. border.Select(edge => (below[edge.From], below[edge.To]))];
        }

        return new PolygonMesh([.. positions], [.. starts], [.. corners]);
    }

    // Faces that aren't kept are cut into fans of triangles about their middles.
    private static (PolygonMesh Mesh, int[] Parts) InFans(HeadScan scan, Func<int, bool> keep)
    {
        var positions = scan.Mesh.Positions.ToArray().ToList();
        var (starts, corners, parts) = (new List<int> { 0 }, new List<int>(), new List<int>());
        for (int f = 0; f < scan.Mesh.FaceCount; f++)
        {
            int[] face = scan.Mesh.Face(f).ToArray();
            int[][] fan = keep(f) ? [face] : [.. face.Select((v, k) => (int[])[v, face[(k + 1) % face.Length], positions.Count])];
            if (!keep(f))
            {
                positions.Add((System.Numerics.Vector3)Middle(scan.Mesh, f));
            }

            foreach (int[] one in fan)
            {
                corners.AddRange(one);
                starts.Add(corners.Count);
                parts.Add(scan.FaceParts[f]);
            }
        }

        return (new PolygonMesh([.. positions], [.. starts], [.. corners]), [.. parts]);
    }

    private static (LatticePlacement Placement, CarriedHead Head) Carry(HeadScan scan)
    {
        TemplateHead numbered = Assert.IsType<TemplateHead>(Template.NumberedAs(scan.Mesh));
        CarriedHead head = Assert.IsType<CarriedHead>(CarriedHead.Recognise(numbered, scan));
        TriangleMesh mesh = scan.Mesh.Triangulate(out _);
        return (head.Place(Template.Lattice, mesh.WithPositions(head.Frame.ToHead(mesh.Positions))), head);
    }
}
