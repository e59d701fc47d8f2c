using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.Tests;

/// <summary>
/// A head of closed forms with a flawless placement: an ellipsoid of human proportions, a ball for each eye, and a
/// small lattice whose joints lie exactly at their lift. Head frame, interocular distances.
/// </summary>
internal static class SampleHead
{
    /// <summary>Lift of every surface joint.</summary>
    internal const double Lift = 0.02;

    internal static readonly Vector3d Centre = new(0, -0.45, -1.35);
    internal static readonly Vector3d SemiAxes = new(1.24, 1.85, 1.6);

    /// <summary>A frame that isn't the file's own axes: centimetres, Z up, facing -Y.</summary>
    internal static readonly HeadFrame ZUpCentimetres =
        new(new(1.5, -7, 163), Vector3d.UnitX, Vector3d.UnitZ, new(0, -1, 0), 6.3);

    /// <summary>A frame of mirrored file coordinates.</summary>
    internal static readonly HeadFrame Mirrored =
        new(new(0, 1.6, 0.1), new(-1, 0, 0), Vector3d.UnitY, Vector3d.UnitZ, 0.063);

    internal static readonly JointLattice Lattice = BuildLattice();

    internal static TemplateHead Template { get; } = new()
    {
        Name = "sample",
        Version = "1.0",
        Sha256 = new string('a', 64),
        Mesh = Skin(),
        FaceParts = [.. Enumerable.Repeat("skin", Skin().FaceCount)],
        Landmarks = Lattice.Joints
            .Where(j => LandmarkNames.IndexOf(j.Name) >= 0)
            .ToDictionary(j => j.Name, j => j.SkinPoint ?? j.Position),
        Lattice = Lattice,
        ReducedJoints = [],
    };

    /// <summary>The flawless placement, on the scan of this head or on one that was read from a file of it.</summary>
    /// <param name="frame">Where the head is in the file.</param>
    /// <param name="read">A scan whose skin is the part "face".</param>
    internal static PlacementResult Result(HeadFrame? frame = null, HeadScan? read = null)
    {
        HeadFrame at = frame ?? ZUpCentimetres;
        HeadScan scan = read ?? Scan(at);
        TriangleMesh whole = scan.Mesh.Triangulate(out int[] faces);
        TriangleMesh headMesh = whole.WithPositions(at.ToHead(whole.Positions));
        return new PlacementResult
        {
            Scan = scan,
            Frame = at,
            MetresPerUnit = 0.063 / at.InterocularDistance,
            Neutral = new Dictionary<string, double> { ["lidApertureLeft"] = 0.8, ["jawAngleDegrees"] = 2.1 },
            NeedsPerson = new NeedsPerson(0.03, ["a reason with \"quotes\" and ä"]),
            HeadMesh = headMesh,
            Skin = new BoundingVolumeHierarchy(SkinOf(headMesh, faces, scan)),
            Landmarks = [.. Template.Landmarks.Select(l => new Landmark(l.Key, l.Value, Matrix3d.Identity * 0.0004, 1, LandmarkSource.Network))],
            Template = Template,
            Lattice = LatticeExtent.Full,
            Model = new ModelIdentity("sample-model", "1.0", new string('b', 64)),
            Placement = new LatticePlacement([.. Lattice.Joints.Select(Place)], Lattice.Rows, Lattice.Columns),
            Findings = [],
            Timings = [new StageTiming("Import", 1.26), new StageTiming("Registration", 20)],
        };
    }

    internal static JointPlacement Place(ControlJoint joint) => new()
    {
        Joint = joint,
        Position = joint.Position,
        Rotation = joint.Rotation,
        State = JointState.Modelled,
        LocalSize = 1,
        Lift = joint.Lift,
        Radius90 = 0.05,
    };

    /// <summary>The point of the ellipsoid's front that is seen at (x, y), and the normal there.</summary>
    internal static (Vector3d Point, Vector3d Normal) Front(double x, double y)
    {
        (double u, double v) = ((x - Centre.X) / SemiAxes.X, (y - Centre.Y) / SemiAxes.Y);
        double w = Math.Sqrt(1 - (u * u) - (v * v));
        Vector3d normal = new Vector3d(u / SemiAxes.X, v / SemiAxes.Y, w / SemiAxes.Z).Normalized();
        return (new(x, y, Centre.Z + (w * SemiAxes.Z)), normal);
    }

    /// <summary>The ellipsoid alone, quads but for the poles; head frame.</summary>
    internal static PolygonMesh Skin() => Ellipsoid(Centre, SemiAxes, rings: 48, segments: 96);

    /// <summary>The pieces of the head, head frame.</summary>
    internal static (PolygonMesh Mesh, string Name)[] Pieces() =>
    [
        (Skin(), "face"),
        (Ellipsoid(new(0.5, 0, 0), new(0.19, 0.19, 0.19), 12, 24), "eyeball_left"),
        (Ellipsoid(new(-0.5, 0, 0), new(0.19, 0.19, 0.19), 12, 24), "eyeball_right"),
    ];

    private static HeadScan Scan(HeadFrame frame)
    {
        (PolygonMesh Mesh, string Name)[] parts = Pieces();
        var positions = new List<Vector3>();
        var starts = new List<int> { 0 };
        var corners = new List<int>();
        var faceParts = new List<int>();
        for (int part = 0; part < parts.Length; part++)
        {
            PolygonMesh mesh = parts[part].Mesh;
            int first = positions.Count;
            foreach (Vector3 p in mesh.Positions)
            {
                positions.Add((Vector3)frame.ToFile(p));
            }

            bool mirrored = Vector3d.Dot(Vector3d.Cross(frame.Left, frame.Up), frame.Front) < 0;
            for (int f = 0; f < mesh.FaceCount; f++)
            {
                int[] face = [.. mesh.Face(f).ToArray().Select(v => first + v)];
                corners.AddRange(mirrored ? face.Reverse() : face);
                starts.Add(corners.Count);
                faceParts.Add(part);
            }
        }

        return new HeadScan
        {
            Source = "sample.obj",
            Sha256 = new string('c', 64),
            Format = MeshFormat.Obj,
            MetresPerUnit = null,
            Mesh = new PolygonMesh([.. positions], [.. starts], [.. corners]),
            Parts = [.. parts.Select(p => new MeshPart(p.Name, null))],
            FaceParts = faceParts,
        };
    }

    private static TriangleMesh SkinOf(TriangleMesh mesh, int[] triangleFaces, HeadScan scan)
    {
        var indices = new List<int>();
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            if (scan.Parts[scan.FaceParts[triangleFaces[t]]].Name == "face")
            {
                indices.AddRange(mesh.Indices.Slice(3 * t, 3));
            }
        }

        return new TriangleMesh(mesh.Positions.ToArray(), [.. indices]);
    }

    private static PolygonMesh Ellipsoid(Vector3d centre, Vector3d axes, int rings, int segments)
    {
        var positions = new List<Vector3> { (Vector3)(centre + new Vector3d(0, axes.Y, 0)) };
        for (int ring = 1; ring < rings; ring++)
        {
            (double sinPolar, double cosPolar) = Math.SinCos(Math.PI * ring / rings);
            for (int s = 0; s < segments; s++)
            {
                (double sin, double cos) = Math.SinCos(2 * Math.PI * s / segments);
                positions.Add((Vector3)(centre + new Vector3d(axes.X * sinPolar * sin, axes.Y * cosPolar, axes.Z * sinPolar * cos)));
            }
        }

        positions.Add((Vector3)(centre - new Vector3d(0, axes.Y, 0)));
        int bottom = positions.Count - 1;
        var starts = new List<int> { 0 };
        var corners = new List<int>();
        for (int s = 0; s < segments; s++)
        {
            int next = (s + 1) % segments;
            Add(0, 1 + s, 1 + next);
            for (int ring = 0; ring + 2 < rings; ring++)
            {
                int upper = 1 + (ring * segments), lower = upper + segments;
                Add(upper + s, lower + s, lower + next, upper + next);
            }

            int last = 1 + ((rings - 2) * segments);
            Add(last + s, bottom, last + next);
        }

        return new PolygonMesh([.. positions], [.. starts], [.. corners]);

        void Add(params ReadOnlySpan<int> face)
        {
            corners.AddRange(face);
            starts.Add(corners.Count);
        }
    }

    private static JointLattice BuildLattice()
    {
        var joints = new List<ControlJoint>();
        AddPivot("skullbase", null, "skull", Side.Middle, new(0, -0.6, -1.2), Ride.Inner);
        AddPivot("jaw_hinge", "skullbase", "jaw", Side.Middle, new(0, -0.7, -0.8), Ride.JawHinge);
        AddPivot("eye_centre_left", "skullbase", "eye", Side.Left, new(0.5, 0, 0), Ride.EyeballLeft);
        AddPivot("eye_centre_right", "skullbase", "eye", Side.Right, new(-0.5, 0, 0), Ride.EyeballRight);
        AddMiddle("glabella", "skullbase", "brow", 0.35);
        AddPairs("brow", "skullbase", "brow", 0.25, [0.25, 0.5, 0.75], 0.35);
        AddMiddle("nasion", "skullbase", "nose", 0.05);
        AddMiddle("pronasale", "skullbase", "nose", -0.6);
        AddMiddle("subnasale", "skullbase", "nose", -0.8);
        AddPair("zygion", "skullbase", "cheek", 1.05, -0.3);
        AddPair("cheilion", "jaw_hinge", "lip", 0.4, -1.12, fold: true);
        AddMiddle("lip_upper", "skullbase", "lip", -1.05);
        AddPairs("lip_upper", "skullbase", "lip", 0.13, [0.13, 0.26], -1.05);
        AddMiddle("lip_lower", "jaw_hinge", "lip", -1.2);
        AddPairs("lip_lower", "jaw_hinge", "lip", 0.13, [0.13, 0.26], -1.2);
        AddMiddle("pogonion", "jaw_hinge", "jaw", -1.6);
        AddMiddle("menton", "jaw_hinge", "jaw", -1.83);
        JointSequence[] rows =
        [
            new("brow", Across("brow", 3, "glabella")),
            new("lip_upper", ["cheilion_right", .. Across("lip_upper", 2, "lip_upper"), "cheilion_left"]),
            new("lip_lower", ["cheilion_right", .. Across("lip_lower", 2, "lip_lower"), "cheilion_left"]),
        ];
        JointSequence[] columns =
            [new("midline", ["glabella", "nasion", "pronasale", "subnasale", "lip_upper", "lip_lower", "pogonion", "menton"])];
        return new JointLattice(joints, rows, columns);

        void AddPivot(string name, string? parent, string region, Side side, Vector3d position, Ride ride) =>
            joints.Add(new ControlJoint
            {
                Name = name,
                Parent = parent,
                Region = region,
                Side = side,
                Kind = JointKind.Pivot,
                Position = position,
                Ride = ride,
            });

        void AddMiddle(string name, string parent, string region, double y) =>
            joints.Add(OnSkin(name, parent, region, Side.Middle, 0, y, false));

        void AddPair(string name, string parent, string region, double x, double y, bool fold = false)
        {
            joints.Add(OnSkin($"{name}_left", parent, region, Side.Left, x, y, fold));
            joints.Add(OnSkin($"{name}_right", parent, region, Side.Right, -x, y, fold));
        }

        void AddPairs(string name, string parent, string region, double step, double[] distances, double y)
        {
            foreach (double x in distances)
            {
                AddPair($"{name}_{Math.Round(x / step)}", parent, region, x, y);
            }
        }
    }

    private static string[] Across(string name, int count, string middle) =>
    [
        .. Enumerable.Range(1, count).Reverse().Select(i => $"{name}_{i}_right"),
        middle,
        .. Enumerable.Range(1, count).Select(i => $"{name}_{i}_left"),
    ];

    // x runs along the row towards the subject's left, z along the normal: mirrored joints differ by S R diag(-1, 1, 1).
    private static ControlJoint OnSkin(string name, string parent, string region, Side side, double x, double y, bool fold)
    {
        (Vector3d point, Vector3d normal) = Front(x, y);
        Vector3d across = (Vector3d.UnitX - (normal * normal.X)).Normalized();
        return new ControlJoint
        {
            Name = name,
            Parent = parent,
            Region = region,
            Side = side,
            Kind = JointKind.Surface,
            Position = point + (normal * Lift),
            Rotation = Rotation3d.FromMatrix(Matrix3d.FromColumns(across, Vector3d.Cross(normal, across), normal)),
            Ride = Ride.Skin,
            Lift = Lift,
            SkinPoint = point,
            RotationPolicy = RotationPolicy.TurnWithSkin,
            InFold = fold,
        };
    }
}
