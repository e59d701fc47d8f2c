using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Template;

/// <summary>
/// What a mesh has of a template's head: faces of the same connectivity, numbered in whatever order. Most of its skin is
/// among them, whole or cut and with foreign skin welded to it, and other pieces (faces that share vertices) as far as they
/// are whole; some, like teeth or lashes, may be missing, and the mesh may have more, like hair or a body.
/// </summary>
/// <param name="Vertices">Pairs of a vertex of the template and one of the mesh.</param>
/// <param name="Faces">Pairs of a face of the template and one of the mesh.</param>
internal sealed record SharedTopology(IReadOnlyList<(int Own, int Other)> Vertices, IReadOnlyList<(int Own, int Other)> Faces)
{
    /// <summary>How far a piece may lie from where the whole head would have it and still be the same, interocular distances: less than from one tooth to the next.</summary>
    private const double SamePlace = 0.1;

    /// <summary>Least share of the skin's faces, and of the joints on it, that a mesh must have where the skin was cut: with less, looking at the head tells more than what is left of it (own choice). Chance gives no hundredth.</summary>
    private const double LeastShare = 0.5;

    /// <summary>How much nearer to a joint skin that is missing must be than skin that is there, interocular distances: single precision of files.</summary>
    private const double Nearer = 1e-5;

    /// <summary>Compares; costs little when the mesh has nothing of the template's skin.</summary>
    /// <returns>Null when the mesh hasn't most of the template's skin.</returns>
    public static SharedTopology? Find(TemplateHead template, PolygonMesh mesh)
    {
        MeshComponents ownPieces = MeshComponents.Of(template.Mesh);
        int[] skinFaces = new int[ownPieces.Count];
        for (int f = 0; f < template.FaceParts.Count; f++)
        {
            skinFaces[ownPieces.FaceComponents[f]] += template.FaceParts[f] == "skin" ? 1 : 0;
        }

        int skinPiece = Array.IndexOf(skinFaces, skinFaces.Max());
        if (mesh.FaceCount < LeastShare * ownPieces.FaceCounts[skinPiece])
        {
            return null;
        }

        int[][] own = Pieces(ownPieces), others = Pieces(MeshComponents.Of(mesh));
        if ((WholeSkin(template.Mesh, own[skinPiece], mesh, others) ?? CutSkin(template.Mesh, own[skinPiece], mesh)) is not { } skin)
        {
            return null;
        }

        return skin.With(template.Mesh, own.Where((_, piece) => piece != skinPiece), mesh, others);
    }

    /// <summary>Joints that ride on skin of the template that the mesh hasn't; null when that are too many.</summary>
    public IReadOnlySet<string>? JointsOffSkin(TemplateHead template)
    {
        HashSet<int> shared = [.. Faces.Select(face => face.Own)];
        TriangleMesh triangles = template.Mesh.Triangulate(out int[] faceOf);
        ILookup<bool, int> skin = Enumerable.Range(0, faceOf.Length).Where(t => template.FaceParts[faceOf[t]] == "skin").ToLookup(t => shared.Contains(faceOf[t]));
        if (!skin[false].Any())
        {
            return TemplateHead.NoJoints;
        }

        var (there, missing) = (new BoundingVolumeHierarchy(triangles.Subset([.. skin[true]])), new BoundingVolumeHierarchy(triangles.Subset([.. skin[false]])));
        ControlJoint[] joints = [.. template.Lattice.Joints.Where(joint => joint is { Ride: Ride.Skin, SkinPoint: not null })];
        HashSet<string> off = [.. joints.Where(joint => Off(there, joint) > Off(missing, joint) + Nearer).Select(joint => joint.Name)];
        return off.Count > (1 - LeastShare) * joints.Length ? null : off;

        static double Off(BoundingVolumeHierarchy skin, ControlJoint joint) =>
            skin.ClosestPoint((System.Numerics.Vector3)joint.SkinPoint!.Value).Distance;
    }

    private static SharedTopology? WholeSkin(PolygonMesh own, int[] skin, PolygonMesh other, int[][] others)
    {
        int[][] asLarge = [.. others.Where(faces => faces.Length == skin.Length)];
        return asLarge.Length == 1 && SizeOf(own, skin) == SizeOf(other, asLarge[0]) ? Match(own, skin, other, asLarge[0]) : null;
    }

    private static SharedTopology? CutSkin(PolygonMesh own, int[] skin, PolygonMesh other)
    {
        PolygonMesh part = own.Subset(skin, out int[] vertices);
        return CommonFaces.Find(part, other, LeastShare) is not { } shared ? null : new SharedTopology(
            [.. shared.Vertices.Select(pair => (vertices[pair.Own], pair.Other))],
            [.. shared.Faces.Select(pair => (skin[pair.Own], pair.Other))]);
    }

    // This skin, and what both have besides. Of pieces that one of them has more of, those are the same that lie in one place.
    private SharedTopology With(PolygonMesh own, IEnumerable<int[]> ownPieces, PolygonMesh other, IEnumerable<int[]> otherPieces)
    {
        SimilarityTransform onto = ProcrustesAlignment.Align(
            [.. Vertices.Select(v => (Vector3d)own.Positions[v.Own])], [.. Vertices.Select(v => (Vector3d)other.Positions[v.Other])]);
        HashSet<int> taken = [.. Faces.Select(face => face.Other)];
        ILookup<PieceSize, int[]> others = otherPieces.Where(faces => !faces.Any(taken.Contains)).ToLookup(faces => SizeOf(other, faces));
        var shared = new List<SharedTopology> { this };
        foreach (IGrouping<PieceSize, int[]> alike in ownPieces.GroupBy(faces => SizeOf(own, faces)))
        {
            if (others[alike.Key].Count() == alike.Count() && Match(own, [.. alike.SelectMany(f => f)], other, [.. others[alike.Key].SelectMany(f => f)], onto) is { } all)
            {
                shared.Add(all);
            }
            else
            {
                shared.AddRange(InPlace(own, alike, other, others[alike.Key], onto).Select(pair => Match(own, pair.Own, other, pair.Other, onto)).OfType<SharedTopology>());
            }
        }

        return new SharedTopology([.. shared.SelectMany(part => part.Vertices)], [.. shared.SelectMany(part => part.Faces)]);
    }

    private static SharedTopology? Match(PolygonMesh own, int[] ownFaces, PolygonMesh other, int[] otherFaces, SimilarityTransform? onto = null)
    {
        PolygonMesh ownPart = own.Subset(ownFaces, out int[] ownVertices), otherPart = other.Subset(otherFaces, out int[] otherVertices);
        return MeshRenumbering.Find(ownPart, otherPart, onto) is not { } numbers ? null : new SharedTopology(
            [.. numbers.Vertices.Select((twin, v) => (ownVertices[v], otherVertices[twin]))],
            [.. numbers.Faces.Select((twin, f) => (ownFaces[f], otherFaces[twin]))]);
    }

    // Pairs of pieces that are each other's nearest.
    private static IEnumerable<(int[] Own, int[] Other)> InPlace(
        PolygonMesh own, IEnumerable<int[]> ownPieces, PolygonMesh other, IEnumerable<int[]> otherPieces, SimilarityTransform onto)
    {
        (int[] Faces, Vector3d Middle)[] mine = [.. ownPieces.Select(faces => (faces, onto.Apply(Middle(own, faces))))];
        (int[] Faces, Vector3d Middle)[] theirs = [.. otherPieces.Select(faces => (faces, Middle(other, faces)))];
        if (theirs.Length == 0)
        {
            yield break;
        }

        foreach ((int[] faces, Vector3d middle) in mine)
        {
            (int[] near, Vector3d there) = theirs.MinBy(piece => (piece.Middle - middle).LengthSquared);
            if (mine.MinBy(piece => (piece.Middle - there).LengthSquared).Faces == faces && (there - middle).Length < SamePlace * onto.Scale)
            {
                yield return (faces, near);
            }
        }
    }

    private static Vector3d Middle(PolygonMesh mesh, int[] faces)
    {
        Vector3d sum = Vector3d.Zero;
        int count = 0;
        foreach (int v in faces.SelectMany(f => mesh.Face(f).ToArray()))
        {
            sum += mesh.Positions[v];
            count++;
        }

        return sum / count;
    }

    // Faces of each component.
    private static int[][] Pieces(MeshComponents pieces)
    {
        int[][] faces = [.. pieces.FaceCounts.ToArray().Select(count => new int[count])];
        int[] next = new int[pieces.Count];
        for (int f = 0; f < pieces.FaceComponents.Length; f++)
        {
            int piece = pieces.FaceComponents[f];
            faces[piece][next[piece]++] = f;
        }

        return faces;
    }

    private static PieceSize SizeOf(PolygonMesh mesh, int[] faces) =>
        new(faces.Length, faces.Sum(f => mesh.Face(f).Length), faces.SelectMany(f => mesh.Face(f).ToArray()).Distinct().Count());

    private readonly record struct PieceSize(int Faces, int Corners, int Vertices);
}
