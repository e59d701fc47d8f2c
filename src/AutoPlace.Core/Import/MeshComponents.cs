using AutoPlace.Geometry;

namespace AutoPlace.Import;

/// <summary>
/// Pieces of a mesh that hang together: faces that share a vertex belong to one component. Components are numbered in
/// the order of their first faces.
/// </summary>
public sealed class MeshComponents
{
    private readonly int[] _faceComponents;
    private readonly int[] _faceCounts;
    private readonly int[] _firstFaces;

    private MeshComponents(int[] faceComponents, int[] faceCounts, int[] firstFaces)
    {
        _faceComponents = faceComponents;
        _faceCounts = faceCounts;
        _firstFaces = firstFaces;
    }

    /// <summary>Number of components C.</summary>
    public int Count => _faceCounts.Length;

    /// <summary>For each of F faces its component.</summary>
    public ReadOnlySpan<int> FaceComponents => _faceComponents;

    /// <summary>For each of C components its number of faces.</summary>
    public ReadOnlySpan<int> FaceCounts => _faceCounts;

    /// <summary>For each of C components its face with the smallest index.</summary>
    public ReadOnlySpan<int> FirstFaces => _firstFaces;

    /// <summary>
    /// Components within parts: faces of different parts are apart even where they share vertices. The part of a
    /// component is that of its first face. Nearly linear in the number of corners.
    /// </summary>
    public static MeshComponents OfParts(HeadScan scan)
    {
        ArgumentNullException.ThrowIfNull(scan);
        int[] faceParts = new int[scan.FaceParts.Count];
        for (int f = 0; f < faceParts.Length; f++)
        {
            faceParts[f] = scan.FaceParts[f];
        }

        return Find(scan.Mesh, faceParts, scan.Parts.Count);
    }

    /// <summary>Components over the whole mesh, whatever part the faces belong to.</summary>
    public static MeshComponents Of(PolygonMesh mesh)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        return Find(mesh, [], 1);
    }

    private static MeshComponents Find(PolygonMesh mesh, ReadOnlySpan<int> faceParts, int partCount)
    {
        var sets = new DisjointSets(mesh.FaceCount);

        // With several parts a vertex may be seen by each of them: the last face is kept with its part, and faces of
        // one part come mostly in a row, so a dictionary is only needed for vertices at borders between parts.
        int[] lastFaces = new int[mesh.VertexCount];
        Array.Fill(lastFaces, -1);
        var others = new Dictionary<(int Vertex, int Part), int>();
        for (int f = 0; f < mesh.FaceCount; f++)
        {
            foreach (int v in mesh.Face(f))
            {
                int last = lastFaces[v];
                if (last >= 0 && partCount > 1 && faceParts[last] != faceParts[f])
                {
                    others[(v, faceParts[last])] = last;
                    last = others.GetValueOrDefault((v, faceParts[f]), -1);
                }

                if (last >= 0)
                {
                    sets.Unite(last, f);
                }

                lastFaces[v] = f;
            }
        }

        return Number(sets, mesh.FaceCount);
    }

    // The least face of a component is its first.
    private static MeshComponents Number(DisjointSets sets, int faceCount)
    {
        int[] faceComponents = new int[faceCount];
        var counts = new List<int>();
        var firstFaces = new List<int>();
        for (int f = 0; f < faceCount; f++)
        {
            int first = sets.Least(f);
            if (first == f)
            {
                faceComponents[f] = counts.Count;
                counts.Add(0);
                firstFaces.Add(f);
            }
            else
            {
                faceComponents[f] = faceComponents[first];
            }

            counts[faceComponents[f]]++;
        }

        return new MeshComponents(faceComponents, [.. counts], [.. firstFaces]);
    }
}
