using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// A head with the template head's own topology: vertex for vertex, face for face, in the same order. What the template
/// has is carried over exactly: on the template's own head every joint comes back where it was.
/// </summary>
public sealed class CarriedHead
{
    /// <summary>Root mean square distance after the best similarity above which equal counts are taken for chance or a mirrored file, interocular distances.</summary>
    private const double MostDifferent = 0.3;

    private readonly TemplateHead _template;
    private readonly Vector3d[] _file;
    private readonly int[] _skin;

    private CarriedHead(TemplateHead template, Vector3d[] file)
    {
        _template = template;
        _file = file;
        _skin = PartVertices("skin");
    }

    /// <summary>Where the head is in the file: turned as the template's skin has it, spanned by the carried eye centres.</summary>
    public HeadFrame Frame { get; private init; } = new(Vector3d.Zero, Vector3d.UnitX, Vector3d.UnitY, Vector3d.UnitZ, 1);

    /// <summary>Recognises a head; costs next to nothing when the counts differ.</summary>
    /// <param name="template">The template.</param>
    /// <param name="scan">The scan.</param>
    /// <returns>Null when the scan isn't the template's mesh in another shape.</returns>
    public static CarriedHead? Recognise(TemplateHead template, HeadScan scan)
    {
        ArgumentNullException.ThrowIfNull(template);
        ArgumentNullException.ThrowIfNull(scan);
        if (scan.Mesh.VertexCount != template.Mesh.VertexCount
            || !scan.Mesh.FaceStarts.SequenceEqual(template.Mesh.FaceStarts)
            || !scan.Mesh.FaceVertices.SequenceEqual(template.Mesh.FaceVertices))
        {
            return null;
        }

        var carried = new CarriedHead(template, [.. scan.Mesh.Positions.ToArray().Select(p => (Vector3d)p)]);
        SimilarityTransform whole = carried.Fit(carried._skin, carried._file, null);
        double squared = carried._skin.Average(v => (whole.Apply(carried.Atlas(v)) - carried._file[v]).LengthSquared);
        if (Math.Sqrt(squared) > MostDifferent * whole.Scale)
        {
            return null;
        }

        var turned = new HeadFrame(whole.Translation, whole.Rotation * Vector3d.UnitX, whole.Rotation * Vector3d.UnitY, whole.Rotation * Vector3d.UnitZ, whole.Scale);
        return new CarriedHead(template, carried._file) { Frame = turned.WithEyes(carried.Eye("left"), carried.Eye("right")) };
    }

    /// <summary>Carries every joint of a lattice over.</summary>
    /// <param name="lattice">The joints, with their rows and columns.</param>
    /// <param name="headMesh">The scan's triangles, head frame, interocular distances.</param>
    public LatticePlacement Place(JointLattice lattice, TriangleMesh headMesh)
    {
        ArgumentNullException.ThrowIfNull(lattice);
        ArgumentNullException.ThrowIfNull(headMesh);
        var triangles = new CarriedTriangles(_template, headMesh);
        Vector3d[] head = [.. headMesh.Positions.ToArray().Select(p => (Vector3d)p)];
        var parts = new Dictionary<Ride, SimilarityTransform>();
        foreach ((Ride ride, string part) in (ReadOnlySpan<(Ride, string)>)[
            (Ride.EyeballLeft, "eyeball_left"), (Ride.EyeballRight, "eyeball_right"),
            (Ride.TeethUpper, "teeth_upper"), (Ride.TeethLower, "teeth_lower"), (Ride.Tongue, "tongue")])
        {
            if (PartVertices(part) is { Length: > 2 } vertices)
            {
                parts.Add(ride, Fit(vertices, head, null));
            }
        }

        // The eyes' centres define the head frame: in it they are one unit apart, about the origin.
        parts.Add(Ride.Eyes, InnerJoints.BothEyes(_template, Vector3d.UnitX * 0.5, Vector3d.UnitX * -0.5, Vector3d.UnitZ));
        var placed = new Dictionary<string, JointPlacement>(StringComparer.Ordinal);
        var turns = new Dictionary<string, Matrix3d>(StringComparer.Ordinal);
        foreach (ControlJoint joint in lattice.Joints)
        {
            (placed[joint.Name], turns[joint.Name]) = joint is { Ride: Ride.Skin, SkinPoint: not null }
                ? triangles.Place(joint)
                : Inside(joint, parts.TryGetValue(joint.Ride, out SimilarityTransform? part) ? part : Fit(_skin, head, joint.Position));
        }

        (IReadOnlyDictionary<string, Matrix3d> groups, IReadOnlySet<string> mirrored) = LatticeInvariants.Apply(
            lattice, placed, symmetric: false, ownMidline: _template.AtlasPositions is not null, ownPairs: false);
        JointRotations.Apply(lattice, joint => turns[joint.Name], placed, groups, mirrored);
        return new LatticePlacement([.. lattice.Joints.Select(joint => placed[joint.Name])], lattice.Rows, lattice.Columns);
    }

    private static (JointPlacement Placement, Matrix3d Turn) Inside(ControlJoint joint, SimilarityTransform part) => (new()
    {
        Joint = joint,
        Position = part.Apply(joint.Position),
        Rotation = joint.Rotation,
        State = JointState.Modelled,
        LocalSize = part.Scale,
        Lift = 0,
        Radius90 = CarriedTriangles.Radius90,
    }, part.Rotation);

    // Template to the head or the file: of all vertices alike, or those near a point first.
    private SimilarityTransform Fit(int[] vertices, Vector3d[] target, Vector3d? near)
    {
        const double Nearness = 0.3, Rest = 1e-4;
        double[] weights = [.. vertices.Select(v => near is { } at
            ? Rest + Math.Exp(-(Atlas(v) - at).LengthSquared / (2 * Nearness * Nearness))
            : 1)];
        return ProcrustesAlignment.Align([.. vertices.Select(Atlas)], [.. vertices.Select(v => target[v])], weights);
    }

    private Vector3d Eye(string side)
    {
        Vector3d centre = _template.Landmarks[$"eye_centre_{side}"];
        int[] ball = PartVertices($"eyeball_{side}");
        return (ball.Length > 2 ? Fit(ball, _file, null) : Fit(_skin, _file, centre)).Apply(centre);
    }

    private Vector3d Atlas(int vertex) => _template.Mesh.Positions[vertex];

    private int[] PartVertices(string part) =>
        [.. Enumerable.Range(0, _template.Mesh.FaceCount).Where(f => _template.FaceParts[f] == part)
            .SelectMany(f => _template.Mesh.Face(f).ToArray()).Distinct().Order()];
}
