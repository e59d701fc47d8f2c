using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;

namespace AutoPlace.Registration;

/// <summary>A head that is understood: frame, symmetry, skin, eyeballs.</summary>
public sealed record ConditionedHead
{
    /// <summary>Largest asymmetry at which the surface's own midsagittal plane replaces that of the landmarks, interocular distances.</summary>
    private const double PlausibleAsymmetry = 0.04;

    /// <summary>Reach of the symmetry plane's closest points, interocular distances.</summary>
    private const double SymmetryReach = 0.25;

    /// <summary>Cosine of the largest angle between the surface's own midsagittal plane and that of the landmarks (11 degrees).</summary>
    private const double LeastAlignment = 0.98;

    /// <summary>One of so many correspondences is compared with the mirrored surface: thousands are left.</summary>
    private const int ComparedOf = 8;

    /// <summary>An eye's pieces are no larger than this, interocular distances.</summary>
    private const double MostEyeExtent = 1.2;

    /// <summary>Where the head is in the file.</summary>
    public required HeadFrame Frame { get; init; }

    /// <summary>The whole scan, head frame, interocular distances.</summary>
    public required TriangleMesh Mesh { get; init; }

    /// <summary>True when the mesh was built symmetric, or the user wants it treated so.</summary>
    public required bool IsSymmetric { get; init; }

    /// <summary>Where the left eye looks, unit vector in the head frame; null where its mesh doesn't tell. Not made symmetric on a symmetric head.</summary>
    public Vector3d? GazeLeft { get; init; }

    /// <summary>Where the right eye looks.</summary>
    public Vector3d? GazeRight { get; init; }

    /// <summary>Everything that registration goes by.</summary>
    public required HeadEvidence Evidence { get; init; }

    /// <summary>Understands a head.</summary>
    /// <param name="scan">The scan.</param>
    /// <param name="read">What looking at it found.</param>
    /// <param name="symmetric">True to treat the head as symmetric whatever its mesh says.</param>
    /// <param name="knownFrame">Where the head is, when that is known better than by looking; else null.</param>
    public static ConditionedHead From(ScanSurface scan, HeadReading read, bool symmetric, HeadFrame? knownFrame = null)
    {
        ArgumentNullException.ThrowIfNull(scan);
        ArgumentNullException.ThrowIfNull(read);
        bool[] components = SkinExtraction.SkinComponents(read.Observations, scan.TriangleComponents, scan.ComponentCount);
        bool[] insideOut = SkinExtraction.InsideOut(scan.Mesh, read.Observations, scan.TriangleComponents, scan.ComponentCount);
        bool[] isSkin = new bool[scan.Mesh.TriangleCount];
        bool[] isReversed = new bool[scan.Mesh.TriangleCount];
        for (int t = 0; t < isSkin.Length; t++)
        {
            isSkin[t] = components[scan.TriangleComponents[t]];
            isReversed[t] = insideOut[scan.TriangleComponents[t]];
        }

        TriangleMesh asFound = scan.Mesh.WithReversed(isReversed).WithPositions(read.Frame.ToHead(scan.Mesh.Positions));
        int[] outer = SkinExtraction.OuterTriangles(asFound, read.Observations, isSkin);
        var outerSkin = new BoundingVolumeHierarchy(asFound.Subset(outer));
        (HeadFrame frame, bool builtSymmetric) = knownFrame is null ? Align(scan, read, isSkin, outerSkin) : (knownFrame, false);
        symmetric |= builtSymmetric;
        TriangleMesh mesh = asFound.WithPositions(frame.ToHead(scan.Mesh.Positions));
        foreach (int t in outer)
        {
            isSkin[t] = false; // what is left is covered
        }

        int[] notSkin = [.. Enumerable.Range(0, isSkin.Length).Where(t => !components[scan.TriangleComponents[t]])];
        int[] covered = [.. Enumerable.Range(0, isSkin.Length).Where(t => isSkin[t])];
        SkinSurface skin = null!;
        List<TriangleMesh> pieces = null!;
        Parallel.Invoke(
            () => skin = SkinSurface.Of(mesh, outer, covered, outerSkin),
            () => pieces = EyePieces(scan, mesh));

        IReadOnlyList<Landmark> landmarks = LandmarkShape.OfHeads.Conditioned([.. read.Landmarks.Select(l => l.Reframed(read.Frame, frame))]);
        IReadOnlyList<Correspondence> correspondences = [.. read.Correspondences.Select(c => c.Reframed(read.Frame, frame))];
        Vector3d[][] points = [.. pieces.Select(piece => piece.Positions.ToArray().Select(p => (Vector3d)p).ToArray())];
        Eyeball left = FindEyeball("left", landmarks, points);
        Eyeball right = FindEyeball("right", landmarks, points);
        (Vector3d? gazeLeft, Vector3d? gazeRight) = (EyeGaze.Of(left, pieces), EyeGaze.Of(right, pieces));
        landmarks = LandmarkSnap.ToSkin(landmarks, skin.Hierarchy);
        if (symmetric)
        {
            landmarks = FacialSymmetry.Symmetrized(landmarks);
            correspondences = FacialSymmetry.Symmetrized(correspondences);
            (left, right) = FacialSymmetry.Symmetrized(left, right);
        }

        return new ConditionedHead
        {
            Frame = frame,
            Mesh = mesh,
            IsSymmetric = symmetric,
            GazeLeft = gazeLeft,
            GazeRight = gazeRight,
            Evidence = new HeadEvidence
            {
                Landmarks = WithEyeballs(landmarks, left, right),
                Correspondences = [.. correspondences.Where(c => !c.OnEyeball)],
                AtlasToHead = FrameEstimator.Estimate(correspondences)?.AtlasToHead ?? SimilarityTransform.Identity,
                EyeballLeft = left,
                EyeballRight = right,
                Skin = skin,
                OtherPieces = mesh.Subset(notSkin),
                Mesh = mesh,
                Polygons = scan.Polygons,
            },
        };
    }

    // The frame on the plane that the mesh was built about, else on the plane that the face is most nearly symmetric
    // about, else as the landmarks have it.
    private static (HeadFrame Frame, bool BuiltSymmetric) Align(
        ScanSurface scan, HeadReading read, bool[] isSkin, BoundingVolumeHierarchy skinAsFound)
    {
        HeadFrame frame = read.Frame;
        Vector3[] face = FaceVertices(scan.Mesh, frame, isSkin);
        if (MeshSymmetry.AlignToBuiltPlane(face, frame) is { } built)
        {
            return (built, true);
        }

        Vector3d[] compared = [.. read.Correspondences.Where((c, i) => i % ComparedOf == 0 && !c.OnEyeball).Select(c => c.Head)];
        MidsagittalPlane plane = MidsagittalPlane.Fit(skinAsFound, compared, Vector3d.UnitX, 0, SymmetryReach);
        if (plane.Asymmetry >= PlausibleAsymmetry || plane.Normal.X <= LeastAlignment)
        {
            return (MeshSymmetry.Upright(frame), false);
        }

        Vector3d normal = frame.DirectionToFile(plane.Normal);
        double offset = (plane.Offset * frame.InterocularDistance) + Vector3d.Dot(normal, frame.Origin);
        return (
            MeshSymmetry.Upright(MeshSymmetry.OntoPlane(frame, normal, offset)),
            MeshSymmetry.IsBuiltAbout(face, normal, offset, frame.InterocularDistance));
    }

    // Skin vertices of the face: hair and body needn't be symmetric.
    private static Vector3[] FaceVertices(TriangleMesh mesh, HeadFrame frame, bool[] isSkin)
    {
        bool[] used = new bool[mesh.VertexCount];
        for (int i = 0; i < mesh.Indices.Length; i++)
        {
            used[mesh.Indices[i]] |= isSkin[i / 3];
        }

        var face = new List<Vector3>();
        for (int v = 0; v < used.Length; v++)
        {
            Vector3d p = frame.ToHead((Vector3d)mesh.Positions[v]);
            if (used[v] && Math.Abs(p.X) < 1.6 && p.Y is > -2.2 and < 1.5 && p.Z > -1)
            {
                face.Add(mesh.Positions[v]);
            }
        }

        return [.. face];
    }

    // Each connected piece that is small enough for an eye and lies at the height of the eyes, with its own vertices alone.
    private static List<TriangleMesh> EyePieces(ScanSurface scan, TriangleMesh mesh)
    {
        bool[] isEye = [.. scan.ComponentBoxes(mesh.Positions).Select(box =>
        {
            Vector3 extent = box.High - box.Low, middle = (box.Low + box.High) / 2;
            return Math.Max(extent.X, Math.Max(extent.Y, extent.Z)) < MostEyeExtent && middle.Length() < 1.2f;
        })];
        var corners = new SortedDictionary<int, List<int>>();
        for (int i = 0; i < mesh.Indices.Length; i++)
        {
            int c = scan.TriangleComponents[i / 3];
            if (isEye[c])
            {
                if (!corners.TryGetValue(c, out List<int>? of))
                {
                    corners.Add(c, of = []);
                }

                of.Add(mesh.Indices[i]);
            }
        }

        return [.. corners.Values.Select(of => Alone(mesh, of))];
    }

    private static TriangleMesh Alone(TriangleMesh mesh, List<int> corners)
    {
        var own = new Dictionary<int, int>();
        int[] indices = [.. corners.Select(v => own.TryAdd(v, own.Count) ? own.Count - 1 : own[v])];
        return new TriangleMesh([.. own.Keys.Select(v => mesh.Positions[v])], indices);
    }

    private static Eyeball FindEyeball(string side, IReadOnlyList<Landmark> landmarks, Vector3d[][] pieces)
    {
        Landmark outer = Named("exocanthion"), inner = Named("endocanthion");
        bool seen = outer.Source != LandmarkSource.Inferred && inner.Source != LandmarkSource.Inferred;
        return EyeballFinder.Find(Named("eye_centre"), seen ? (outer.Position + inner.Position) * 0.5 : null, pieces);

        Landmark Named(string name) => landmarks[LandmarkNames.IndexOf($"{name}_{side}")];
    }

    // A fitted ball's centre is the eye centre; a plate's lies behind what is seen.
    private static IReadOnlyList<Landmark> WithEyeballs(IReadOnlyList<Landmark> landmarks, Eyeball left, Eyeball right) =>
        [.. landmarks.Select(l => l.Name switch
        {
            "eye_centre_left" when left is { IsModelled: true, IsPlate: false } => AtBall(l, left),
            "eye_centre_right" when right is { IsModelled: true, IsPlate: false } => AtBall(l, right),
            _ => l,
        })];

    private static Landmark AtBall(Landmark landmark, Eyeball ball) => landmark with
    {
        Position = ball.Centre,
        Covariance = Matrix3d.Identity * ball.CentreVariance,
        Presence = 1,
        Source = LandmarkSource.SphereFit,
    };
}
