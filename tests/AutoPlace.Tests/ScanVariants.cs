using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Tests;

/// <summary>The same scan in other coordinates, or written in another order.</summary>
internal static class ScanVariants
{
    /// <summary>The scan with every position mapped; faces are turned round when the map mirrors.</summary>
    public static HeadScan Mapped(HeadScan scan, Func<Vector3d, Vector3d> map, bool mirrors = false)
    {
        var positions = new Vector3[scan.Mesh.VertexCount];
        for (int v = 0; v < positions.Length; v++)
        {
            positions[v] = (Vector3)map(scan.Mesh.Positions[v]);
        }

        int[] starts = scan.Mesh.FaceStarts.ToArray(), corners = scan.Mesh.FaceVertices.ToArray();
        for (int f = 0; mirrors && f < scan.Mesh.FaceCount; f++)
        {
            Array.Reverse(corners, starts[f], starts[f + 1] - starts[f]);
        }

        return With(scan, new PolygonMesh(positions, starts, corners), scan.FaceParts);
    }

    /// <summary>The scan with vertices, faces and the first corner of each face in seeded random order.</summary>
    public static HeadScan Shuffled(HeadScan scan, int seed)
    {
        var random = new Random(seed);
        int[] vertexOrder = [.. Enumerable.Range(0, scan.Mesh.VertexCount)];
        int[] faceOrder = [.. Enumerable.Range(0, scan.Mesh.FaceCount)];
        random.Shuffle(vertexOrder);
        random.Shuffle(faceOrder);
        int[] newIndex = new int[vertexOrder.Length];
        var positions = new Vector3[vertexOrder.Length];
        for (int v = 0; v < positions.Length; v++)
        {
            positions[v] = scan.Mesh.Positions[vertexOrder[v]];
            newIndex[vertexOrder[v]] = v;
        }

        var starts = new List<int> { 0 };
        var corners = new List<int>();
        var parts = new List<int>();
        foreach (int f in faceOrder)
        {
            ReadOnlySpan<int> face = scan.Mesh.Face(f);
            int first = random.Next(face.Length);
            for (int c = 0; c < face.Length; c++)
            {
                corners.Add(newIndex[face[(first + c) % face.Length]]);
            }

            starts.Add(corners.Count);
            parts.Add(scan.FaceParts[f]);
        }

        return With(scan, new PolygonMesh(positions, [.. starts], [.. corners]), parts);
    }

    /// <summary>The scan without the faces of a part, and without the vertices that only those have.</summary>
    public static HeadScan Without(HeadScan scan, string part)
    {
        int[] left = [.. Enumerable.Range(0, scan.Mesh.FaceCount).Where(f => scan.Parts[scan.FaceParts[f]].Name != part)];
        return With(scan, scan.Mesh.Subset(left, out _), [.. left.Select(f => scan.FaceParts[f])]);
    }

    public static HeadScan With(HeadScan scan, PolygonMesh mesh, IReadOnlyList<int> faceParts) => new()
    {
        Source = scan.Source,
        Sha256 = scan.Sha256,
        Format = scan.Format,
        MetresPerUnit = scan.MetresPerUnit,
        Mesh = mesh,
        Parts = scan.Parts,
        FaceParts = faceParts,
    };
}
