using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Tests.Heads;

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
        (PolygonMesh mesh, _, int[] faces) = Shapes.Shuffled(scan.Mesh, seed);
        int[] parts = new int[faces.Length];
        for (int f = 0; f < parts.Length; f++)
        {
            parts[faces[f]] = scan.FaceParts[f];
        }

        return With(scan, mesh, parts);
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
