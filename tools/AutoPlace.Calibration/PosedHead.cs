using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.Calibration;

/// <summary>A generated head as a file would hold it.</summary>
/// <param name="Sample">The head, head frame, interocular distances.</param>
/// <param name="Pose">How it lies in the file.</param>
internal sealed record PosedHead(HeadSample Sample, FilePose Pose)
{
    /// <summary>Poses a head.</summary>
    public static PosedHead Draw(HeadSample sample, SeededRandom random) => new(sample, FilePose.Draw(random, 1));

    /// <summary>A point of the head frame in file coordinates.</summary>
    public Vector3 ToFile(Vector3 point) => Pose.Apply(point);

    /// <summary>The head as read from a file: a part for each material, no vertices without a face.</summary>
    public HeadScan ToScan()
    {
        TriangleMesh mesh = Sample.Mesh;
        int[] renumbered = new int[mesh.VertexCount];
        var positions = new List<Vector3>();
        int[] corners = new int[mesh.Indices.Length];
        for (int c = 0; c < corners.Length; c++)
        {
            int vertex = mesh.Indices[c];
            if (renumbered[vertex] == 0)
            {
                positions.Add(ToFile(mesh.Positions[vertex]));
                renumbered[vertex] = positions.Count;
            }

            corners[c] = renumbered[vertex] - 1;
        }

        Material[] materials = [.. Sample.Materials.Distinct().Order()];
        return new HeadScan
        {
            Source = $"generated head {Sample.Number}",
            Sha256 = "",
            Format = MeshFormat.Obj,
            MetresPerUnit = null,
            Mesh = new PolygonMesh([.. positions], [.. Enumerable.Range(0, mesh.TriangleCount + 1).Select(t => 3 * t)], corners),
            Parts = [.. materials.Select(m => new MeshPart(m.ToString(), m.ToString()))],
            FaceParts = [.. Sample.Materials.Select(m => Array.IndexOf(materials, m))],
        };
    }
}
