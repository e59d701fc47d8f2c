using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.Calibration;

/// <summary>A generated head as a file would hold it: in some axes, unit and place.</summary>
/// <param name="Sample">The head, head frame, interocular distances.</param>
/// <param name="Turn">Turn from its head frame to the file's axes.</param>
/// <param name="Unit">Interocular distance in the file's unit.</param>
/// <param name="Offset">Origin of the head frame, file coordinates.</param>
internal sealed record PosedHead(HeadSample Sample, Quaternion Turn, float Unit, Vector3 Offset)
{
    private const float MostTilt = 15;

    /// <summary>Interocular distance of an adult in metres (Dodgson 2004, rounded); files are in metres, centimetres, millimetres, inches, or in no unit.</summary>
    private static readonly float[] Units = [0.063f, 6.3f, 63, 2.48f, 1];

    /// <summary>Poses a head. Two in three are tilted by up to 15 degrees; half stand in glTF's axes, a quarter with Z up, the others in any axes.</summary>
    public static PosedHead Draw(HeadSample sample, SeededRandom random)
    {
        const int ZUp = 16; // any of the four turns about the front with the front along an axis
        int axes = random.Unit() switch { < 0.5f => 0, < 0.75f => ZUp, _ => random.Whole(0, 23) };
        float tilt = random.Chance(2 / 3f) ? random.Uniform(0, MostTilt) : 0;
        var about = Vector3.Normalize(new Vector3(random.Normal(), random.Normal(), random.Normal()));
        var turn = Quaternion.Normalize(PoseSampler.AxisFrame(axes) * Quaternion.CreateFromAxisAngle(about, tilt * MathF.PI / 180));
        float unit = Units[random.Whole(0, Units.Length - 1)] * random.LogUniform(0.8f, 1.25f);
        Vector3 offset = random.Chance(0.5f) ? Vector3.Zero : unit * new Vector3(random.Uniform(-5, 5), random.Uniform(-5, 5), random.Uniform(-5, 5));
        return new PosedHead(sample, turn, unit, offset);
    }

    /// <summary>A point of the head frame in file coordinates.</summary>
    public Vector3 ToFile(Vector3 point) => (Vector3.Transform(point, Turn) * Unit) + Offset;

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
