using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Rendering;

namespace AutoPlace.Landmarks;

/// <summary>A scan as the views show it: triangles with normals, materials and connected pieces, in file coordinates.</summary>
public sealed class ScanSurface
{
    /// <summary>Most by amount that a coordinate may be: the square of an area still fits single precision.</summary>
    private const float LargestCoordinate = 1e9f;

    private readonly Vector3[] _normals;
    private readonly int[] _materials;
    private readonly int[] _components;

    private ScanSurface(PolygonMesh polygons, TriangleMesh mesh, int[] materials, int[] components, int componentCount)
    {
        Polygons = polygons;
        Mesh = mesh;
        _normals = VertexNormals.AngleWeighted(mesh);
        _materials = materials;
        _components = components;
        ComponentCount = componentCount;
    }

    /// <summary>The scan's polygons, of all its parts, over the same vertices.</summary>
    public PolygonMesh Polygons { get; }

    /// <summary>The scan's triangles, file coordinates.</summary>
    public TriangleMesh Mesh { get; }

    /// <summary>V unit normals.</summary>
    public ReadOnlySpan<Vector3> Normals => _normals;

    /// <summary>T part ids for the border channel; none when the scan has one part only.</summary>
    public ReadOnlySpan<int> TriangleMaterials => _materials;

    /// <summary>For each triangle its connected piece.</summary>
    public ReadOnlySpan<int> TriangleComponents => _components;

    /// <summary>Number of connected pieces.</summary>
    public int ComponentCount { get; }

    /// <summary>Triangulates a scan, or some of its parts.</summary>
    /// <param name="scan">The scan.</param>
    /// <param name="partNames">Names of the parts that hold the head; empty for all.</param>
    /// <exception cref="MeshFormatException">The scan has no part of a given name, or coordinates too large to reckon with.</exception>
    public static ScanSurface Of(HeadScan scan, IReadOnlyList<string> partNames)
    {
        ArgumentNullException.ThrowIfNull(scan);
        ArgumentNullException.ThrowIfNull(partNames);
        CheckSize(scan);
        bool[] wanted = Wanted(scan, partNames);
        TriangleMesh all = scan.Mesh.Triangulate(out int[] triangleFaces);
        MeshComponents components = MeshComponents.OfParts(scan);
        var indices = new List<int>(all.Indices.Length);
        var materials = new List<int>(all.TriangleCount);
        var pieces = new List<int>(all.TriangleCount);
        for (int t = 0; t < triangleFaces.Length; t++)
        {
            int face = triangleFaces[t];
            if (wanted[scan.FaceParts[face]])
            {
                indices.AddRange(all.Indices.Slice(3 * t, 3));
                materials.Add(scan.FaceParts[face]);
                pieces.Add(components.FaceComponents[face]);
            }
        }

        return new ScanSurface(
            scan.Mesh,
            new TriangleMesh(scan.Mesh.Positions.ToArray(), [.. indices]),
            scan.Parts.Count > 1 ? [.. materials] : [],
            [.. pieces],
            components.Count);
    }

    /// <summary>Draws a view of the scan as a network sees it.</summary>
    /// <param name="view">The view, file coordinates.</param>
    /// <param name="planes">Receives <see cref="ViewTensor"/>'s planes.</param>
    /// <returns>What each pixel sees.</returns>
    internal VisibilityBuffer Draw(in OrthographicView view, Span<float> planes)
    {
        var buffer = new VisibilityBuffer(view.Size);
        Rasterizer.Rasterize(Mesh, view, buffer);
        ViewTensor.Write(buffer, view, Mesh, Normals, TriangleMaterials, planes);
        return buffer;
    }

    /// <summary>The boxes of the connected pieces; of one that was left out, from positive to negative infinity.</summary>
    /// <param name="positions">The mesh's vertices, in any frame.</param>
    internal (Vector3 Low, Vector3 High)[] ComponentBoxes(ReadOnlySpan<Vector3> positions)
    {
        var boxes = new (Vector3 Low, Vector3 High)[ComponentCount];
        Array.Fill(boxes, (new Vector3(float.PositiveInfinity), new Vector3(float.NegativeInfinity)));
        for (int i = 0; i < Mesh.Indices.Length; i++)
        {
            ref (Vector3 Low, Vector3 High) box = ref boxes[_components[i / 3]];
            Vector3 p = positions[Mesh.Indices[i]];
            box = (Vector3.Min(box.Low, p), Vector3.Max(box.High, p));
        }

        return boxes;
    }

    private static void CheckSize(HeadScan scan)
    {
        ReadOnlySpan<Vector3> positions = scan.Mesh.Positions;
        for (int v = 0; v < positions.Length; v++)
        {
            var p = Vector3.Abs(positions[v]);
            float largest = MathF.Max(p.X, MathF.Max(p.Y, p.Z));
            if (largest > LargestCoordinate)
            {
                throw new MeshFormatException(
                    scan.Source, $"vertex {v}", $"a coordinate of {largest} is beyond {LargestCoordinate}");
            }
        }
    }

    private static bool[] Wanted(HeadScan scan, IReadOnlyList<string> partNames)
    {
        bool[] wanted = new bool[scan.Parts.Count];
        Array.Fill(wanted, partNames.Count == 0);
        foreach (string name in partNames)
        {
            bool found = false;
            for (int p = 0; p < wanted.Length; p++)
            {
                bool isIt = string.Equals(scan.Parts[p].Name, name, StringComparison.Ordinal);
                wanted[p] |= isIt;
                found |= isIt;
            }

            if (!found)
            {
                string known = string.Join(", ", scan.Parts.Select(p => $"'{p.Name}'").Distinct());
                throw new MeshFormatException(scan.Source, $"part '{name}'", $"not in the file, which has {known}");
            }
        }

        return wanted;
    }
}
