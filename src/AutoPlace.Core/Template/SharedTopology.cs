using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Template;

/// <summary>
/// What a mesh has of a template's head: whole pieces (faces that share vertices) of the same connectivity, numbered in
/// whatever order. The piece with most of the skin is among them; others, like teeth or lashes, may be missing, and the
/// mesh may have more, like hair or a body.
/// </summary>
/// <param name="Vertices">Pairs of a vertex of the template and one of the mesh.</param>
/// <param name="Faces">Pairs of a face of the template and one of the mesh.</param>
internal sealed record SharedTopology(IReadOnlyList<(int Own, int Other)> Vertices, IReadOnlyList<(int Own, int Other)> Faces)
{
    /// <summary>How far a piece may lie from where the whole head would have it and still be the same, interocular distances: less than from one tooth to the next.</summary>
    private const double SamePlace = 0.1;

    /// <summary>Compares; costs next to nothing when the mesh has no piece as large as the template's skin.</summary>
    /// <returns>Null when the mesh hasn't the template's skin.</returns>
    public static SharedTopology? Find(TemplateHead template, PolygonMesh mesh)
    {
        MeshComponents ownPieces = MeshComponents.Of(template.Mesh);
        int[] skinFaces = new int[ownPieces.Count];
        for (int f = 0; f < template.FaceParts.Count; f++)
        {
            skinFaces[ownPieces.FaceComponents[f]] += template.FaceParts[f] == "skin" ? 1 : 0;
        }

        int skinPiece = Array.IndexOf(skinFaces, skinFaces.Max()), faceCount = ownPieces.FaceCounts[skinPiece];
        if (mesh.FaceCount < faceCount)
        {
            return null;
        }

        MeshComponents otherPieces = MeshComponents.Of(mesh);
        if (!otherPieces.FaceCounts.Contains(faceCount))
        {
            return null;
        }

        (PieceSize Size, int[] Faces)[] own = Pieces(template.Mesh, ownPieces);
        PieceSize skin = own[skinPiece].Size;
        ILookup<PieceSize, int[]> others = Pieces(mesh, otherPieces).ToLookup(piece => piece.Size, piece => piece.Faces);
        IGrouping<PieceSize, int[]>[] sizes = [.. own.GroupBy(piece => piece.Size, piece => piece.Faces)];
        IGrouping<PieceSize, int[]>[] alike = [.. sizes.Where(size => others[size.Key].Count() == size.Count())];
        if (!alike.Any(size => size.Key == skin)
            || Match(template.Mesh, alike.SelectMany(size => size), mesh, alike.SelectMany(size => others[size.Key])) is not { } shared)
        {
            return null;
        }

        // Of pieces that one of both has more of, those are the same that lie in one place.
        SimilarityTransform onto = ProcrustesAlignment.Align(
            [.. shared.Vertices.Select(v => (Vector3d)template.Mesh.Positions[v.Own])], [.. shared.Vertices.Select(v => (Vector3d)mesh.Positions[v.Other])]);
        (int[] Own, int[] Other)[] more = [.. sizes.Except(alike).SelectMany(size => InPlace(template.Mesh, size, mesh, others[size.Key], onto))];
        return more.Length == 0 ? shared : Match(
            template.Mesh,
            alike.SelectMany(size => size).Concat(more.Select(pair => pair.Own)),
            mesh,
            alike.SelectMany(size => others[size.Key]).Concat(more.Select(pair => pair.Other))) ?? shared;
    }

    private static SharedTopology? Match(PolygonMesh own, IEnumerable<int[]> ownPieces, PolygonMesh other, IEnumerable<int[]> otherPieces)
    {
        int[] ownFaces = [.. ownPieces.SelectMany(faces => faces).Order()], otherFaces = [.. otherPieces.SelectMany(faces => faces).Order()];
        PolygonMesh ownPart = own.Subset(ownFaces, out int[] ownVertices), otherPart = other.Subset(otherFaces, out int[] otherVertices);
        return MeshRenumbering.Find(ownPart, otherPart) is not { } numbers ? null : new SharedTopology(
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

    // In the order of the components.
    private static (PieceSize Size, int[] Faces)[] Pieces(PolygonMesh mesh, MeshComponents pieces)
    {
        int[] pieceOf = pieces.FaceComponents.ToArray();
        return [.. Enumerable.Range(0, mesh.FaceCount).GroupBy(f => pieceOf[f]).Select(piece =>
        {
            int[] faces = [.. piece];
            return (new PieceSize(faces.Length, faces.Sum(f => mesh.Face(f).Length), faces.SelectMany(f => mesh.Face(f).ToArray()).Distinct().Count()), faces);
        })];
    }

    private readonly record struct PieceSize(int Faces, int Corners, int Vertices);
}
