using System.CommandLine;
using System.Globalization;
using System.Numerics;
using System.Text;
using AutoPlace.Import;

namespace AutoPlace.ServiceLoad;

/// <summary>Heads that differ: demonstration heads, smoothly warped after a number.</summary>
internal sealed class HeadVariants
{
    /// <summary>Waves of a warp, and their height over the head's size: heads stay heads.</summary>
    private const int Waves = 4;
    private const double WaveHeight = 0.01;

    private readonly HeadScan[] _heads;

    /// <summary>The option that says which heads to vary.</summary>
    public static Option<string> Folder() => new("--heads") { Description = "Folder of heads to vary.", DefaultValueFactory = _ => "training-data/demo" };

    /// <summary>Reads the heads.</summary>
    /// <param name="folder">A folder of .glb, .obj and .ply files.</param>
    public HeadVariants(string folder) =>
        _heads = [.. Directory.EnumerateFiles(folder)
            .Where(file => Path.GetExtension(file) is ".glb" or ".obj" or ".ply").Order(StringComparer.Ordinal).Select(file => MeshReader.Read(file))];

    /// <summary>A head as OBJ; the same number gives the same head.</summary>
    public byte[] Obj(int number)
    {
        HeadScan head = _heads[number % _heads.Length];
        Vector3[] positions = head.Mesh.Positions.ToArray();
        Vector3 low = positions.Aggregate(Vector3.Min), high = positions.Aggregate(Vector3.Max);
        float size = (high - low).Length();
        var random = new Random(number);
        (Vector3 Direction, float Phase, Vector3 Move)[] waves = [.. Enumerable.Range(0, Waves).Select(_ => (
            Draw(random) * (6 / size), (float)(random.NextDouble() * Math.Tau), Draw(random) * (float)(WaveHeight * size)))];
        var text = new StringBuilder();
        foreach (Vector3 position in positions)
        {
            Vector3 p = position;
            foreach ((Vector3 direction, float phase, Vector3 move) in waves)
            {
                p += move * MathF.Sin(Vector3.Dot(position, direction) + phase);
            }

            text.Append(CultureInfo.InvariantCulture, $"v {p.X:R} {p.Y:R} {p.Z:R}\n");
        }

        for (int f = 0, part = -1; f < head.Mesh.FaceCount; f++)
        {
            if (part != head.FaceParts[f])
            {
                part = head.FaceParts[f];
                text.Append(CultureInfo.InvariantCulture, $"o {head.Parts[part].Name}\n");
            }

            text.Append('f');
            foreach (int corner in head.Mesh.Face(f))
            {
                text.Append(CultureInfo.InvariantCulture, $" {corner + 1}");
            }

            text.Append('\n');
        }

        return Encoding.UTF8.GetBytes(text.ToString());
    }

    /// <summary>A file that can't be read, of several kinds.</summary>
    public byte[] Bad(int number)
    {
        byte[] whole = Obj(number);
        return (number % 3) switch
        {
            0 => [],
            1 => [.. whole.AsSpan(0, whole.Length / 3), .. "\nf 1 2 999999999\n"u8],
            _ => [.. "glTF"u8, .. whole.AsSpan(0, 1000)],
        };
    }

    private static Vector3 Draw(Random random) => new((float)((2 * random.NextDouble()) - 1), (float)((2 * random.NextDouble()) - 1), (float)((2 * random.NextDouble()) - 1));
}
