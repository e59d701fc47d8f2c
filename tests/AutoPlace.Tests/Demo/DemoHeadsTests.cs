using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Demo;

/// <summary>The demonstration heads and where their joints truly are, against each other and without any placing.</summary>
public sealed class DemoHeadsTests
{
    // Files keep a millionth of the head's size.
    private const double Rounding = 1e-5;

    private static readonly TemplateHead Template = BuiltInTemplate.Load();

    public static TheoryData<string> Names => DemoFolder.Names;

    [Fact]
    public void Cast_has_eight_heads_in_three_formats_and_a_large_span_of_detail()
    {
        HeadScan[] scans = [.. DemoFolder.Truths.Values.Select(truth => MeshReader.Read(truth.MeshPath))];

        Assert.True(scans.Length >= 8);
        Assert.Equal(3, scans.Select(scan => scan.Format).Distinct().Count());
        Assert.InRange(scans.Min(scan => scan.Mesh.VertexCount), 500, 2000);
        Assert.True(scans.Max(scan => scan.Mesh.VertexCount) > 12000);
        Assert.All(DemoFolder.Truths.Values, truth => Assert.True(new FileInfo(truth.MeshPath).Length < 800_000, truth.MeshPath));
    }

    [Theory]
    [MemberData(nameof(Names))]
    public void Truth_has_every_joint_of_the_lattice_and_its_eyes_span_the_unit(string name)
    {
        TruthFile truth = DemoFolder.Truths[name];

        Assert.Equal(Template.Lattice.Joints.Select(joint => joint.Name), truth.Joints.Keys);
        double eyes = Vector3d.Distance(truth.Joints["eye_centre_left"], truth.Joints["eye_centre_right"]);
        Assert.Equal(1, eyes / truth.InterocularDistance, Rounding);
        Assert.Equal(0, (((truth.Joints["eye_centre_left"] + truth.Joints["eye_centre_right"]) * 0.5) - truth.Origin).Length / truth.InterocularDistance, Rounding);
    }

    [Theory]
    [MemberData(nameof(Names))]
    public void Right_side_mirrors_the_left_but_for_known_offsets(string name)
    {
        TruthFile truth = DemoFolder.Truths[name];
        foreach ((string joint, Vector3d position) in truth.Joints)
        {
            Vector3d other = truth.Joints[LandmarkNames.Mirror(joint)];
            Vector3d off = (position - other + (truth.Left * (2 * Vector3d.Dot(other - truth.Origin, truth.Left)))) / truth.InterocularDistance;
            if (truth.KnownOffsets.Count == 0)
            {
                Assert.True(off.Length < 3 * Rounding, $"{joint} is off by {off.Length}");
            }
        }

        // A joint's own offset against its twin, which the change on the other side reaches by its last tail.
        const double Tail = 0.005;
        foreach ((string joint, Vector3d known) in truth.KnownOffsets)
        {
            string twin = LandmarkNames.Mirror(joint);
            Vector3d other = truth.Joints[twin];
            Vector3d off = truth.Joints[joint] - other + (truth.Left * (2 * Vector3d.Dot(other - truth.Origin, truth.Left)));
            off *= twin == joint ? 0.5 : 1;
            Assert.True((off - known).Length < Tail * truth.InterocularDistance, $"{joint}: known {known}, seen {off}");
            Assert.InRange(known.Length / truth.InterocularDistance, 0.05, 0.2);
        }
    }

    /// <summary>
    /// The checks of a placement share no code with the generator: they see the file's mesh and the true joints alone.
    /// Rotations are the template's, since truths have none.
    /// </summary>
    [Theory]
    [MemberData(nameof(Names))]
    public void True_joints_pass_the_checks_of_a_placement(string name)
    {
        TruthFile truth = DemoFolder.Truths[name];
        HeadScan scan = MeshReader.Read(truth.MeshPath);
        Vector3d up = truth.Up, front = Vector3d.Cross(truth.Left, up);
        TriangleMesh mesh = scan.Mesh.Triangulate(out int[] faces);
        TriangleMesh head = mesh.WithPositions([.. mesh.Positions.ToArray().Select(p => (Vector3)ToHead(p))]);
        int[] skinTriangles = [.. Enumerable.Range(0, mesh.TriangleCount).Where(t => IsSkin(scan.Parts[scan.FaceParts[faces[t]]].Name))];
        var skin = new TriangleMesh(head.Positions.ToArray(), [.. skinTriangles.SelectMany(t => head.Indices.Slice(3 * t, 3).ToArray())]);
        var index = new BoundingVolumeHierarchy(skin);
        JointPlacement[] joints = [.. Template.Lattice.Joints.Select(Place)];

        IReadOnlyList<Finding> findings = PlacementChecks.Run(
            new LatticePlacement(joints, Template.Lattice.Rows, Template.Lattice.Columns), head, index, []);

        Assert.Empty(findings.Where(finding => finding.Severity == Severity.Error).Select(finding => finding.Message));

        JointPlacement Place(ControlJoint joint)
        {
            Vector3d position = ToHead(truth.Joints[joint.Name]);
            SurfacePoint near = index.ClosestPoint((Vector3)position).Point;
            return new JointPlacement
            {
                Joint = joint,
                Position = position,
                Rotation = joint.Rotation,
                State = JointState.Modelled,
                LocalSize = 1,
                Lift = joint.Lift,
                Radius90 = 0,
                SkinPoint = joint.Ride == Ride.Skin ? near with { Triangle = skinTriangles[near.Triangle] } : null,
            };
        }

        Vector3d ToHead(Vector3d p)
        {
            Vector3d d = (p - truth.Origin) / truth.InterocularDistance;
            return new Vector3d(Vector3d.Dot(d, truth.Left), Vector3d.Dot(d, up), Vector3d.Dot(d, front));
        }
    }

    /// <summary>A surface joint floats by its lift, up to the chords of a coarse mesh: 2 % of the unit, 4 % at one in twenty.</summary>
    [Theory]
    [MemberData(nameof(Names))]
    public void True_surface_joints_lie_on_the_mesh(string name)
    {
        TruthFile truth = DemoFolder.Truths[name];
        var index = new BoundingVolumeHierarchy(MeshReader.Read(truth.MeshPath).Mesh.Triangulate(out _));
        double[] distances = [.. Template.Lattice.Joints.Where(joint => joint.Ride == Ride.Skin && truth.Joints.ContainsKey(joint.Name))
            .Select(joint => index.ClosestPoint((Vector3)truth.Joints[joint.Name]).Distance / truth.InterocularDistance).Order()];

        Assert.InRange(distances[distances.Length / 2], 0, 0.02);
        Assert.InRange(distances[(int)(distances.Length * 0.95)], 0, 0.04);
    }

    /// <summary>
    /// Along a ray into the visible skin the facing of the sheets alternates: in, out, in. Two that face the same way
    /// within three hundredths of the unit, with none between them, are one skin modelled twice, and which of them is seen
    /// is left to rounding.
    /// </summary>
    [Theory]
    [MemberData(nameof(Names))]
    public void Visible_skin_is_a_single_sheet(string name)
    {
        const double Depth = 0.03, Samples = 4000;
        TruthFile truth = DemoFolder.Truths[name];
        double unit = truth.InterocularDistance;
        TriangleMesh skin = Skin(MeshReader.Read(truth.MeshPath));
        var index = new BoundingVolumeHierarchy(skin);
        var doubled = new List<string>();
        for (int t = 0; t < skin.TriangleCount; t += 1 + (int)(skin.TriangleCount / Samples))
        {
            (Vector3 a, Vector3 b, Vector3 c) = skin.Corners(t);
            Vector3d centre = ((Vector3d)a + b + c) / 3, normal = Vector3d.Cross((Vector3d)b - a, (Vector3d)c - a).Normalized();
            if (!SheetsAlong(centre + (normal * (1e-4 * unit)), normal, 10 * unit).Any())
            {
                bool[] facings = [.. SheetsAlong(centre + (normal * (1e-4 * unit)), -normal, Depth * unit)];
                if (facings.Zip(facings.Skip(1)).Any(pair => pair.First == pair.Second))
                {
                    doubled.Add($"triangle {t} at {centre}");
                }
            }
        }

        Assert.True(doubled.Count == 0, $"{doubled.Count}: {string.Join("; ", doubled.Take(5))}");

        // Facing of each sheet met within a length, the nearest first.
        IEnumerable<bool> SheetsAlong(Vector3d origin, Vector3d direction, double length)
        {
            double step = 1e-5 * unit;
            for (double at = 0; at < length;)
            {
                RayHit hit = index.CastRay((Vector3)(origin + (direction * at)), (Vector3)direction, (float)(length - at));
                if (!hit.IsHit)
                {
                    yield break;
                }

                yield return hit.IsFrontFace;
                at += hit.Parameter + step;
            }
        }
    }

    // By name; where a file has no names, the piece with the most faces.
    private static TriangleMesh Skin(HeadScan scan)
    {
        TriangleMesh mesh = scan.Mesh.Triangulate(out int[] faces);
        int[] components = MeshComponents.OfParts(scan).FaceComponents.ToArray();
        int largest = components.GroupBy(component => component).MaxBy(group => group.Count())!.Key;
        return mesh.Subset([.. Enumerable.Range(0, mesh.TriangleCount)
            .Where(t => scan.Parts.Count > 1 ? IsSkin(scan.Parts[scan.FaceParts[faces[t]]].Name) : components[faces[t]] == largest)]);
    }

    // PLY has no names of parts: everything counts.
    private static bool IsSkin(string part) =>
        !part.StartsWith("eyeball", StringComparison.Ordinal) && part is not ("hat" or "beard" or "scarf" or "smock" or "hands" or "trousers" or "boots");
}
