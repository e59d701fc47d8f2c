using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>A template with what every placement needs of it, computed once.</summary>
public sealed class PreparedTemplate
{
    /// <summary>Number of control points; 1,170 spread evenly place the demonstration heads' joints no better.</summary>
    private const int ControlPointCount = 800;

    // Away from the joints control points lie farther apart: beyond the second distance by so many times, interocular distances.
    private const double Sparseness = 2, DenseEnd = 0.3, SparseFrom = 1.2;

    // Points of the mean face have a normal that looks ahead and lie this far from the eye centres (ellipses wider than
    // high), the mouth and the nostrils, where one sheet of skin lies close to another, and from the middle of the face.
    private const double LeastAhead = 0.1, FromEyes = 0.36, EyeHeight = 1.5, FromMouth = 0.22, MouthWidth = 1.5, FromNostrils = 0.2, Midline = 0.1;

    private const double FaceWidth = 1.3, FaceBottom = -2.2, FaceTop = 1.3;

    private readonly Vector3d[] _controls;
    private readonly Vector3d[] _controlNormals;
    private readonly int[] _skinVertices;
    private readonly Lazy<MeanFace> _meanFace;
    private readonly Lazy<MouthParts> _mouthParts;
    private readonly Lazy<IReadOnlyList<RowLoop>> _rowLoops;
    private readonly Lazy<EdgeFlow> _flow;
    private volatile FoundMouth? _mouthOn;
    private readonly double[] _controlLips, _landmarkLips;
    private readonly Dictionary<string, double> _jointLips = [];
    private readonly SideComparison? _sides;
    private readonly Dictionary<string, Vector3d> _skinNormals = [];
    private readonly string[] _landmarks;
    private readonly Vector3d[] _landmarkPoints, _landmarkNormals;

    /// <summary>Prepares a template.</summary>
    /// <param name="head">The template; its mesh has at least one face of the part "skin".</param>
    /// <exception cref="ArgumentException">The mesh has no skin.</exception>
    public PreparedTemplate(TemplateHead head)
    {
        ArgumentNullException.ThrowIfNull(head);
        Head = head;
        EyeballRadius = head.EyeballRadius ?? head.MeanEyeballRadius();
        (TriangleMesh skin, _skinVertices) = SkinOf(head);

        // An own head may come from a file that is inside out, or mirrored, or have hair that is.
        Skin = skin = skin.WithReversed([.. skin.FacesOutward.ToArray().Select(outward => !outward)]);
        Vector3[] normals = VertexNormals.AngleWeighted(skin);
        int[] chosen = FarthestPoints(skin.Positions, head.Lattice, ControlPointCount);
        _controls = [.. chosen.Select(v => (Vector3d)skin.Positions[v])];
        _controlNormals = [.. chosen.Select(v => (Vector3d)normals[v])];
        _sides = head.AtlasPositions is null ? new SideComparison(head.Lattice, skin, normals) : null;
        Lips = new LipSides(skin, head.Landmarks);
        Openness = LipSides.OpenOf(OwnLandmarks());
        _controlLips = [.. chosen.Select(v => Lips[v])];
        _meanFace = new(() => new MeanFace(FacePoints()));
        _mouthParts = new(() => new MouthParts(head));
        _rowLoops = new(() => RowLoop.Of(head, _skinVertices, normals, Lips));
        _flow = new(() => new EdgeFlow(head.Mesh, head.Mesh.Positions, _skinVertices));
        Embedding = head.AtlasPositions is null ? null : new TemplateEmbedding(head, _controls, _controlLips);
        var hierarchy = new BoundingVolumeHierarchy(skin);
        foreach (ControlJoint joint in head.Lattice.Joints)
        {
            if (joint is { Ride: Ride.Skin, SkinPoint: { } point })
            {
                SurfacePoint at = hierarchy.ClosestPoint((Vector3)point).Point;
                _skinNormals.Add(joint.Name, Normal(skin, normals, at));
                _jointLips.Add(joint.Name, Lips.At(skin, at));
            }
        }

        // What carries a row of one lip is of that lip.
        foreach (ControlJoint joint in head.Lattice.Joints.Where(joint => joint.Ride == Ride.Inner))
        {
            _jointLips[joint.Name] = head.Lattice.Joints.Where(child => child.Parent == joint.Name && child.Ride == Ride.Skin)
                .Select(child => _jointLips.GetValueOrDefault(child.Name)).DefaultIfEmpty().Average();
        }

        _landmarks = [.. LandmarkNames.All.Where(name => LandmarkCombination.IsOnSkin(name) && head.Landmarks.ContainsKey(name))];
        _landmarkPoints = [.. _landmarks.Select(name => head.Landmarks[name])];
        SurfacePoint[] landmarksAt = [.. _landmarkPoints.Select(p => hierarchy.ClosestPoint((Vector3)p).Point)];
        _landmarkNormals = [.. landmarksAt.Select(at => Normal(skin, normals, at))];
        _landmarkLips = [.. landmarksAt.Select(at => Lips.At(skin, at))];
    }

    /// <summary>The template.</summary>
    public TemplateHead Head { get; }

    /// <summary>Mean radius of the template's eyeballs, interocular distances.</summary>
    public double EyeballRadius { get; }

    /// <summary>Points of the template's skin, denser where its joints are.</summary>
    public ReadOnlySpan<Vector3d> ControlPoints => _controls;

    /// <summary>Outward unit normals there.</summary>
    public ReadOnlySpan<Vector3d> ControlNormals => _controlNormals;

    /// <summary>Where this template, whose head was shaped after the atlas, has its control points on a head, as far as can be seen.</summary>
    /// <param name="evidence">The head.</param>
    internal IReadOnlyList<ControlPoint> ControlPointsOn(HeadEvidence evidence)
    {
        IReadOnlyList<ControlPoint> fitted = ControlPointFit.Fit(
            [.. _controls, .. _landmarkPoints], [.. _controlNormals, .. _landmarkNormals], evidence.Correspondences, evidence.AtlasToHead,
            [.. _controlLips, .. _landmarkLips], LipSides.On(evidence.Correspondences, evidence.Landmarks));
        return ControlPointDoubt.Widened(
            [.. fitted.Take(_controls.Length)],
            _landmarks.Zip(fitted.Skip(_controls.Length)).ToDictionary(l => l.First, l => l.Second, StringComparer.Ordinal),
            evidence.Landmarks);
    }

    /// <summary>Where the mean face lies on a scan; of a template whose head was shaped after the atlas.</summary>
    public MeanFace MeanFace => _meanFace.Value;

    /// <summary>The closed edge loops of the template's head that its rows lie on.</summary>
    internal IReadOnlyList<RowLoop> RowLoops => _rowLoops.Value;

    /// <summary>Which way the quads of its skin run.</summary>
    internal EdgeFlow Flow => _flow.Value;

    /// <summary>Teeth and tongue of a template whose head was shaped after the atlas.</summary>
    internal MouthParts MouthParts => _mouthParts.Value;

    /// <summary>The template's skin alone, atlas coordinates.</summary>
    internal TriangleMesh Skin { get; }

    /// <summary>For each vertex of <see cref="Skin"/> that of the template's mesh.</summary>
    internal ReadOnlySpan<int> SkinVertices => _skinVertices;

    /// <summary>Which lip each vertex of <see cref="Skin"/> is of.</summary>
    internal LipSides Lips { get; }

    /// <summary>Compares the two sides of a head.</summary>
    /// <exception cref="InvalidOperationException">The template's head isn't the atlas, see <see cref="Embedding"/>.</exception>
    internal SideComparison Sides => _sides ?? throw new InvalidOperationException($"Template '{Head.Name}' is embedded in the atlas.");

    /// <summary>How the template lies in the atlas; null where its head was shaped after it.</summary>
    internal TemplateEmbedding? Embedding { get; }

    /// <summary>How surely the mouth of the template's head is open, see <see cref="LipSides.OpenOf"/>.</summary>
    internal double Openness { get; }

    /// <summary>Outward unit normal of the template's skin under a joint.</summary>
    public Vector3d SkinNormal(ControlJoint joint)
    {
        ArgumentNullException.ThrowIfNull(joint);
        return _skinNormals[joint.Name];
    }

    /// <summary>The lip that a joint is of, see <see cref="LipSides"/>; 0 for one that has a part of its own.</summary>
    internal double LipOf(ControlJoint joint) => _jointLips.GetValueOrDefault(joint.Name);

    /// <summary>The lip that a landmark is of.</summary>
    internal double LipOfLandmark(string name) => Array.IndexOf(_landmarks, name) is >= 0 and int i ? _landmarkLips[i] : 0;

    /// <summary>From the atlas to the teeth and the tongue of this template's own head, as far as it has them, and these themselves.</summary>
    /// <param name="atlas">The template that was shaped after the atlas.</param>
    internal FoundMouth MouthOn(PreparedTemplate atlas)
    {
        return _mouthOn ??= Find();

        FoundMouth Find()
        {
            TriangleMesh mesh = Head.Mesh.Triangulate(out int[] faces);
            int[] pieceOf = MeshComponents.Of(Head.Mesh).FaceComponents.ToArray();
            HashSet<int> skin = [.. Enumerable.Range(0, pieceOf.Length).Where(f => Head.FaceParts[f] == "skin").Select(f => pieceOf[f])];
            TriangleMesh others = mesh.Subset([.. Enumerable.Range(0, faces.Length).Where(t => !skin.Contains(pieceOf[faces[t]]))]);
            IReadOnlyDictionary<Ride, SimilarityTransform> found = atlas.MouthParts.Find(others, new MouthStarts(atlas.Head.Landmarks, OwnLandmarks(), SimilarityTransform.Identity).For);
            return new FoundMouth(found, atlas.MouthParts.On(others, found), Openness == 1);
        }
    }

    private IReadOnlyList<Landmark> OwnLandmarks() => [.. Head.Landmarks.Select(l => new Landmark(l.Key, l.Value, Matrix3d.Identity, 1, LandmarkSource.Network))];

    private IEnumerable<Vector3d> FacePoints()
    {
        Vector3d mouth = Head.Landmarks["stomion"];
        Vector3d nostril = (Head.Landmarks["subnasale"] + Head.Landmarks["alare_left"]) * 0.5;
        double eye = Head.Landmarks["eye_centre_left"].X;
        return _controls.Where((p, i) =>
        {
            double side = Math.Abs(p.X);
            return _controlNormals[i].Z > LeastAhead
                && side < FaceWidth && p.Y is > FaceBottom and < FaceTop
                && new Vector3d(side - eye, p.Y * EyeHeight, 0).Length > FromEyes
                && new Vector3d(p.X / MouthWidth, p.Y - mouth.Y, 0).Length > FromMouth
                && (side < Midline || new Vector3d(side - nostril.X, p.Y - nostril.Y, 0).Length > FromNostrils);
        });
    }

    private static (TriangleMesh Skin, int[] Vertices) SkinOf(TemplateHead head)
    {
        TriangleMesh all = head.Mesh.Triangulate(out int[] faces);
        var vertexOf = new Dictionary<int, int>();
        var positions = new List<Vector3>();
        var vertices = new List<int>();
        var indices = new List<int>();
        for (int t = 0; t < faces.Length; t++)
        {
            if (head.FaceParts[faces[t]] != "skin")
            {
                continue;
            }

            for (int c = 0; c < 3; c++)
            {
                int v = all.Indices[(3 * t) + c];
                if (!vertexOf.TryGetValue(v, out int mapped))
                {
                    vertexOf.Add(v, mapped = positions.Count);
                    positions.Add(all.Positions[v]);
                    vertices.Add(v);
                }

                indices.Add(mapped);
            }
        }

        return indices.Count > 0
            ? (new TriangleMesh([.. positions], [.. indices]), [.. vertices])
            : throw new ArgumentException($"Template '{head.Name}' has no face of part 'skin'.", nameof(head));
    }

    private static Vector3[] SkinPoints(JointLattice lattice) =>
        [.. lattice.Joints.Where(joint => joint.SkinPoint is not null).Select(joint => (Vector3)joint.SkinPoint!.Value)];

    // For each vertex by how much a distance to it counts: fully near the joints, less where nothing is placed.
    private static float[] Density(ReadOnlySpan<Vector3> positions, Vector3[] joints)
    {
        float[] density = new float[positions.Length];
        for (int v = 0; v < density.Length; v++)
        {
            float squared = float.PositiveInfinity;
            foreach (Vector3 joint in joints)
            {
                squared = MathF.Min(squared, Vector3.DistanceSquared(positions[v], joint));
            }

            double away = Math.Clamp((Math.Sqrt(squared) - DenseEnd) / (SparseFrom - DenseEnd), 0, 1);
            density[v] = (float)(1 / (1 + (away * (Sparseness - 1))));
        }

        return density;
    }

    // Under each joint a point, so that a map through them is sharpest there; then farthest-point sampling (Gonzalez 1985).
    private static int[] FarthestPoints(ReadOnlySpan<Vector3> positions, JointLattice lattice, int count)
    {
        Vector3[] joints = SkinPoints(lattice);
        float[] density = Density(positions, joints);
        float[] distance = new float[positions.Length];
        Array.Fill(distance, float.PositiveInfinity);
        var chosen = new List<int>();
        foreach (Vector3 joint in joints)
        {
            int nearest = 0;
            for (int v = 1; v < positions.Length; v++)
            {
                nearest = Vector3.DistanceSquared(positions[v], joint) < Vector3.DistanceSquared(positions[nearest], joint) ? v : nearest;
            }

            if (distance[nearest] > 0)
            {
                Choose(positions, nearest);
            }
        }

        while (chosen.Count < Math.Min(count, positions.Length))
        {
            int farthest = 0;
            for (int v = 1; v < distance.Length; v++)
            {
                farthest = distance[v] > distance[farthest] ? v : farthest;
            }

            Choose(positions, farthest);
        }

        return [.. chosen];

        void Choose(ReadOnlySpan<Vector3> positions, int vertex)
        {
            chosen.Add(vertex);
            for (int v = 0; v < distance.Length; v++)
            {
                float squared = Vector3.DistanceSquared(positions[v], positions[vertex]) * density[v] * density[v];
                distance[v] = MathF.Min(distance[v], squared);
            }
        }
    }

    private static Vector3d Normal(TriangleMesh mesh, Vector3[] normals, SurfacePoint at)
    {
        ReadOnlySpan<int> corners = mesh.Indices.Slice(3 * at.Triangle, 3);
        return (((Vector3d)normals[corners[0]] * at.Barycentric.X)
            + ((Vector3d)normals[corners[1]] * at.Barycentric.Y)
            + ((Vector3d)normals[corners[2]] * at.Barycentric.Z)).Normalized();
    }
}
