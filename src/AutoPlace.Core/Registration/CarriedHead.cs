using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// A head with the template head's own topology: vertex for vertex, face for face, in the same order. What the template
/// has is carried over exactly: on the template's own head every joint comes back where it was. A head that has a part of
/// the template only, or more than it, is recognised by a template numbered as it (<see cref="TemplateHead.NumberedAs"/>);
/// joints on skin that it hasn't lie where the skin around them would have it, and are inferred.
/// </summary>
public sealed class CarriedHead
{
    /// <summary>Root mean square distance after the best similarity above which equal counts are taken for chance or a mirrored file, interocular distances.</summary>
    private const double MostDifferent = 0.3;

    /// <summary>How near to a joint inside the head a vertex has most of its say, interocular distances, and what all others have.</summary>
    private const double Nearness = 0.2, Rest = 1e-4;

    /// <summary>By how much the radius of a joint on missing skin grows with its distance from the skin that is there: nine of ten of 360 on demonstration heads that were cut were off by less.</summary>
    private const double OffSkinRadius = 0.2;

    /// <summary>Fewest vertices of a piece that carries a joint.</summary>
    private const int FewestOfPiece = 8;

    /// <summary>Share of a tooth's vertices on the side of its row.</summary>
    private const double ShareOfRow = 0.75;

    private readonly TemplateHead _template;
    private readonly Vector3d[] _file;
    private readonly int[] _skin;
    private readonly int[][] _inside;

    private CarriedHead(TemplateHead template, Vector3d[] file)
    {
        _template = template;
        _file = file;
        _skin = PartVertices(part => part == "skin");
        int[] pieceOf = MeshComponents.Of(template.Mesh).FaceComponents.ToArray();
        _inside = [.. Enumerable.Range(0, template.Mesh.FaceCount)
            .Where(f => template.FaceParts[f] is var part && part is not ("skin" or TemplateHead.ForeignPart) && !part.StartsWith("eyeball", StringComparison.Ordinal))
            .GroupBy(f => pieceOf[f])
            .Select(piece => piece.SelectMany(f => template.Mesh.Face(f).ToArray()).Distinct().Order().ToArray())
            .Where(piece => piece.Length >= FewestOfPiece)];
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
        SimilarityTransform whole = Fit(carried.Pairs(carried._skin, carried._file));
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
        VertexPairs skin = Pairs(_skin, head);
        var parts = new Dictionary<Ride, SimilarityTransform>();

        // Balls and rows of teeth are hard: their joints move with all of it.
        foreach ((Ride ride, string part) in (ReadOnlySpan<(Ride, string)>)[(Ride.EyeballLeft, "eyeball_left"), (Ride.EyeballRight, "eyeball_right")])
        {
            if (PartVertices(name => name == part) is { Length: > 2 } vertices)
            {
                parts.Add(ride, Fit(Pairs(vertices, head)));
            }
        }

        foreach (Ride ride in (ReadOnlySpan<Ride>)[Ride.TeethUpper, Ride.TeethLower])
        {
            if (Row(lattice, ride) is { Length: > 0 } row)
            {
                parts.Add(ride, Fit(Pairs(row, head)));
            }
        }

        // The eyes' centres define the head frame: in it they are one unit apart, about the origin.
        parts.Add(Ride.Eyes, InnerJoints.BothEyes(_template, Vector3d.UnitX * 0.5, Vector3d.UnitX * -0.5, Vector3d.UnitZ));
        var placed = new Dictionary<string, JointPlacement>(StringComparer.Ordinal);
        var turns = new Dictionary<string, Matrix3d>(StringComparer.Ordinal);
        foreach (ControlJoint joint in lattice.Joints)
        {
            (placed[joint.Name], turns[joint.Name]) = _template.JointsOffSkin.Contains(joint.Name) ? OffSkin(joint, skin)
                : joint is { Ride: Ride.Skin, SkinPoint: not null }
                ? (triangles.Place(joint), SkinTurns.Between(skin.Atlas, skin.Target, joint.SkinPoint.Value))
                : parts.TryGetValue(joint.Ride, out SimilarityTransform? part) ? Inside(joint, part, part.Apply(joint.Position))
                : joint.Ride == Ride.Tongue && NearestOf(_inside, joint.Position) is { } piece ? Inside(joint, Pairs(piece, head))
                : WithoutPart(joint, Inside(joint, skin));
        }

        (IReadOnlyDictionary<string, Matrix3d> groups, IReadOnlySet<string> mirrored) = LatticeInvariants.Apply(
            lattice, placed, symmetric: false, _template.AtlasPositions is not null ? LatticeInvariants.CarriedMidline : 0, ownPairs: false);
        JointRotations.Apply(lattice, joint => turns[joint.Name], placed, groups, mirrored);
        return new LatticePlacement([.. lattice.Joints.Select(joint => placed[joint.Name])], lattice.Rows, lattice.Columns);
    }

    // What rides on a part that the head doesn't have lies where that would be.
    private static (JointPlacement Placement, Matrix3d Turn) WithoutPart(ControlJoint joint, (JointPlacement Placement, Matrix3d Turn) placed) =>
        joint.Ride is Ride.EyeballLeft or Ride.EyeballRight or Ride.TeethUpper or Ride.TeethLower or Ride.Tongue
            ? (placed.Placement with { State = JointState.Inferred }, placed.Turn)
            : placed;

    // On skin that the head hasn't: as what is left of it goes on, the more of that the farther away it is.
    private static (JointPlacement Placement, Matrix3d Turn) OffSkin(ControlJoint joint, VertexPairs skin)
    {
        double away = Math.Sqrt(skin.Atlas.Min(v => (v - joint.Position).LengthSquared));
        double[] weights = LocalMap.Weights(skin.Atlas, joint.Position, Nearness + away, Rest);
        (SimilarityTransform near, Vector3d position) = LocalMap.Carry(skin.Atlas, skin.Target, weights, joint.Position);
        (JointPlacement placement, Matrix3d turn) = Inside(joint, near, position);
        return (placement with
        {
            State = JointState.Inferred,
            Lift = joint.Lift * near.Scale,
            Radius90 = CarriedTriangles.Radius90 + (OffSkinRadius * away),
        }, turn);
    }

    // The tongue hangs on what lies around it inside the mouth, all others on the skin.
    private (JointPlacement Placement, Matrix3d Turn) Inside(ControlJoint joint, VertexPairs around)
    {
        double[] weights = joint.Ride == Ride.JawHinge ? HingeFit.Weights(_template, around.Atlas, joint.Position) : Weights(around, joint.Position);
        (SimilarityTransform near, Vector3d position) = LocalMap.Carry(around.Atlas, around.Target, weights, joint.Position);
        return Inside(joint, near, position);
    }

    private static (JointPlacement Placement, Matrix3d Turn) Inside(ControlJoint joint, SimilarityTransform part, Vector3d position) => (new()
    {
        Joint = joint,
        Position = position,
        Rotation = joint.Rotation,
        State = JointState.Modelled,
        LocalSize = part.Scale,
        Lift = 0,
        Radius90 = CarriedTriangles.Radius90,
    }, part.Rotation);

    // Teeth at the joints of one row, each a piece of its own or all of them one. The rows' edges overlap where the joints
    // are, but most of an upper tooth lies above them and most of a lower one below; a bag around both does neither.
    private int[] Row(JointLattice lattice, Ride ride)
    {
        ControlJoint[] joints = [.. lattice.Joints.Where(joint => joint.Ride is Ride.TeethUpper or Ride.TeethLower)];
        double edge = joints.Select(joint => joint.Position.Y).DefaultIfEmpty().Average();
        int[][] row = [.. _inside.Where(piece => piece.Count(v => Atlas(v).Y > edge == (ride == Ride.TeethUpper)) > ShareOfRow * piece.Length)];
        return [.. joints.Where(joint => joint.Ride == ride).SelectMany(joint => NearestOf(row, joint.Position) ?? []).Distinct().Order()];
    }

    // What lies around a point and hangs together; null when nothing is near.
    private int[]? NearestOf(int[][] pieces, Vector3d point) => pieces
        .Select(piece => (Piece: piece, Squared: piece.Min(v => (Atlas(v) - point).LengthSquared)))
        .Where(near => near.Squared < Nearness * Nearness).OrderBy(near => near.Squared).FirstOrDefault().Piece;

    // Those near a point first.
    private static double[] Weights(VertexPairs pairs, Vector3d near) =>
        LocalMap.Weights(pairs.Atlas, near, Nearness, Rest);

    // Template to the head or the file; without weights of all vertices alike.
    private static SimilarityTransform Fit(VertexPairs pairs, double[]? weights = null) =>
        ProcrustesAlignment.Align(pairs.Atlas, pairs.Target, weights);

    private VertexPairs Pairs(int[] vertices, Vector3d[] target) => new(Array.ConvertAll(vertices, Atlas), Array.ConvertAll(vertices, v => target[v]));

    private Vector3d Eye(string side)
    {
        Vector3d centre = _template.Landmarks[$"eye_centre_{side}"];
        int[] ball = PartVertices(part => part == $"eyeball_{side}");
        VertexPairs pairs = Pairs(ball.Length > 2 ? ball : _skin, _file);
        return Fit(pairs, ball.Length > 2 ? null : Weights(pairs, centre)).Apply(centre);
    }

    private Vector3d Atlas(int vertex) => _template.Mesh.Positions[vertex];

    private int[] PartVertices(Func<string, bool> isPart) =>
        [.. Enumerable.Range(0, _template.Mesh.FaceCount).Where(f => isPart(_template.FaceParts[f]))
            .SelectMany(f => _template.Mesh.Face(f).ToArray()).Distinct().Order()];

    /// <summary>Vertices on the template's head and on another one.</summary>
    private readonly record struct VertexPairs(Vector3d[] Atlas, Vector3d[] Target);
}
