using System.Numerics;
using System.Runtime.InteropServices;
using System.Text.Json;
using AutoPlace.Import;

namespace AutoPlace.TrainingData.Morphable;

/// <summary>
/// Turns a morphable head published as OBJ files (a neutral head, identity000.obj and following, one file for each
/// expression; all with the same vertices in the same order) into the arrays that <see cref="MorphableModel"/> reads.
/// </summary>
internal static class MorphableImporter
{
    private const string IdentityPrefix = "identity";
    private const string NeutralWord = "neutral";

    /// <summary>Reads all OBJ files of a folder and writes the arrays.</summary>
    /// <param name="folder">Folder of the OBJ files; the neutral one has "neutral" in its name.</param>
    /// <param name="landmarks">JSON file of named landmarks on the neutral head.</param>
    /// <param name="output">Folder that receives the arrays.</param>
    /// <returns>Numbers of identity modes and of expressions.</returns>
    /// <exception cref="MeshFormatException">No or several neutral heads, or a file with another number of vertices.</exception>
    public static (int Identities, int Expressions) Import(string folder, string landmarks, string output)
    {
        string[] files = [.. Directory.EnumerateFiles(folder, "*.obj").Order(StringComparer.Ordinal)];
        string[] neutral = [.. files.Where(f => Path.GetFileName(f).Contains(NeutralWord, StringComparison.OrdinalIgnoreCase))];
        if (neutral.Length != 1)
        {
            throw new MeshFormatException(folder, null, $"{neutral.Length} OBJ files with '{NeutralWord}' in their name; one expected");
        }

        Directory.CreateDirectory(output);
        float[] mean = Coordinates(neutral[0]);
        string[] identities = [.. files.Where(f => Path.GetFileName(f).StartsWith(IdentityPrefix, StringComparison.Ordinal))];
        string[] expressions = [.. files.Except(identities).Except(neutral)];
        NpyFile.Write<float>(Path.Combine(output, "mean_vertices.npy"), mean, mean.Length / 3, 3);
        WriteDifferences(identities, neutral[0], mean, output, "identity_modes_int16.npy", "identity_scale.npy");
        WriteDifferences(expressions, neutral[0], mean, output, "expression_shapes_int16.npy", "expression_scale.npy");
        using (FileStream stream = File.Create(Path.Combine(output, "expression_names.json")))
        using (var json = new Utf8JsonWriter(stream))
        {
            json.WriteStartArray();
            foreach (string file in expressions)
            {
                json.WriteStringValue(Path.GetFileNameWithoutExtension(file));
            }

            json.WriteEndArray();
        }

        File.Copy(neutral[0], Path.Combine(output, "topology.obj"), overwrite: true);
        File.Copy(landmarks, Path.Combine(output, "mean_landmarks.json"), overwrite: true);
        return (identities.Length, expressions.Length);
    }

    private static void WriteDifferences(string[] files, string neutral, float[] mean, string output, string valuesName, string scaleName)
    {
        short[] values = new short[files.Length * mean.Length];
        float[] scales = new float[files.Length];
        for (int k = 0; k < files.Length; k++)
        {
            float[] shape = Coordinates(files[k]);
            if (shape.Length != mean.Length)
            {
                throw new MeshFormatException(files[k], null, $"{shape.Length / 3} vertices; {neutral} has {mean.Length / 3}");
            }

            float largest = 0;
            for (int i = 0; i < shape.Length; i++)
            {
                largest = MathF.Max(largest, MathF.Abs(shape[i] - mean[i]));
            }

            scales[k] = largest / short.MaxValue;
            for (int i = 0; i < shape.Length && largest > 0; i++)
            {
                values[(k * mean.Length) + i] = (short)MathF.Round((shape[i] - mean[i]) / scales[k]);
            }
        }

        NpyFile.Write<short>(Path.Combine(output, valuesName), values, files.Length, mean.Length / 3, 3);
        NpyFile.Write<float>(Path.Combine(output, scaleName), scales, files.Length);
    }

    private static float[] Coordinates(string path)
    {
        ReadOnlySpan<Vector3> positions = ObjTopology.Read(path).Polygons.Positions;
        return MemoryMarshal.Cast<Vector3, float>(positions).ToArray();
    }
}
