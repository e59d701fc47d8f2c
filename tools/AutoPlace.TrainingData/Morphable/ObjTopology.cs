using System.Globalization;
using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.TrainingData.Morphable;

/// <summary>
/// Vertices, polygons and the material of each polygon, in the order of an OBJ file. The product's own OBJ reader
/// splits a file into parts and may renumber vertices; here vertex numbers are the model's coordinates.
/// </summary>
/// <param name="Polygons">The polygons; positions in the file's unit.</param>
/// <param name="FaceMaterials">Index into <paramref name="MaterialNames"/> of each polygon.</param>
/// <param name="MaterialNames">Names as written.</param>
internal sealed record ObjTopology(PolygonMesh Polygons, int[] FaceMaterials, IReadOnlyList<string> MaterialNames)
{
    /// <summary>Reads a file.</summary>
    /// <exception cref="MeshFormatException">A line that can't be read; it is named.</exception>
    public static ObjTopology Read(string path)
    {
        var positions = new List<Vector3>();
        var starts = new List<int> { 0 };
        var corners = new List<int>();
        var materials = new List<string> { "" };
        var faceMaterials = new List<int>();
        int material = 0, line = 0;
        foreach (string text in File.ReadLines(path))
        {
            line++;
            string[] words = text.Split(' ', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);
            switch (words.Length == 0 ? "" : words[0])
            {
                case "v" when words.Length >= 4:
                    positions.Add(new(Number(words[1], path, line), Number(words[2], path, line), Number(words[3], path, line)));
                    break;
                case "f":
                    for (int i = 1; i < words.Length; i++)
                    {
                        corners.Add(Corner(words[i], positions.Count, path, line));
                    }

                    starts.Add(corners.Count);
                    faceMaterials.Add(material);
                    break;
                case "usemtl" when words.Length == 2:
                    material = materials.IndexOf(words[1]);
                    if (material < 0)
                    {
                        material = materials.Count;
                        materials.Add(words[1]);
                    }

                    break;
            }
        }

        try
        {
            var polygons = new PolygonMesh([.. positions], [.. starts], [.. corners]);
            return new ObjTopology(polygons, [.. faceMaterials], materials);
        }
        catch (ArgumentException exception)
        {
            throw new MeshFormatException(path, null, exception.Message, exception);
        }
    }

    private static float Number(string word, string path, int line) =>
        float.TryParse(word, NumberStyles.Float, CultureInfo.InvariantCulture, out float value)
            ? value
            : throw new MeshFormatException(path, $"line {line}", $"'{word}' is not a number");

    private static int Corner(string word, int vertices, string path, int line)
    {
        int slash = word.IndexOf('/', StringComparison.Ordinal);
        ReadOnlySpan<char> number = slash < 0 ? word : word.AsSpan(0, slash);
        if (!int.TryParse(number, NumberStyles.AllowLeadingSign, CultureInfo.InvariantCulture, out int index) || index == 0)
        {
            throw new MeshFormatException(path, $"line {line}", $"'{word}' is not a vertex");
        }

        return index > 0 ? index - 1 : vertices + index;
    }
}
