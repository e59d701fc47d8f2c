using System.Buffers.Binary;
using System.Runtime.InteropServices;
using System.Text;
using System.Text.Json.Nodes;

namespace AutoPlace.Tests.Import;

/// <summary>Damage done to files: bytes and words anywhere, and in glTF also values of the JSON.</summary>
internal static class FileDamage
{
    private const int GlbHeaderBytes = 20;

    private static readonly string[] Words =
        ["-1", "0", "1e999", "nan", "99999999999999999999", "-", "/", "//", "\\\n", "#", "\"", "{", "]", "null", "1.5", "\0", "\r"];

    /// <summary>Limits of integers, infinity and NaN, a large count.</summary>
    private static readonly uint[] Numbers = [0, 1, 0x7FFFFFFF, 0x80000000, 0xFFFFFFFF, 0x7F800000, 0x7FC00000, 10_000_000];

    private static readonly string[] Values =
        ["null", "true", "-1", "0", "1", "2", "7", "255", "2147483647", "-2147483648", "4294967296", "1e39", "0.5", "\"\"", "\"x\"", "[]", "{}", "[[]]"];

    /// <summary>A damaged copy.</summary>
    /// <param name="good">A file that can be read.</param>
    /// <param name="seed">Decides on the damage.</param>
    internal static byte[] Of(byte[] good, int seed)
    {
        var random = new Random(seed);
        bool isGltf = good.AsSpan().StartsWith("glTF"u8) || good[0] == (byte)'{';
        if (isGltf && random.Next(3) > 0)
        {
            return OfJson(good, random.Next());
        }

        return random.Next(8) == 0 ? good[..random.Next(good.Length)] : OfBytes(good, random);
    }

    /// <summary>A glTF file whose JSON is still JSON, with one to three values changed, doubled or left out.</summary>
    internal static byte[] OfJson(byte[] good, int seed)
    {
        var random = new Random(seed);
        bool isBinary = good.AsSpan().StartsWith("glTF"u8);
        int length = isBinary ? BinaryPrimitives.ReadInt32LittleEndian(good.AsSpan(12)) : good.Length;
        int start = isBinary ? GlbHeaderBytes : 0;
        JsonNode root = JsonNode.Parse(good.AsSpan(start, length))!;
        for (int change = random.Next(1, 4); change > 0; change--)
        {
            Change(root, random);
        }

        byte[] json = Encoding.UTF8.GetBytes(root.ToJsonString());
        if (!isBinary)
        {
            return json;
        }

        byte[] rest = good[(start + length)..];
        byte[] padded = [.. json, .. Enumerable.Repeat((byte)' ', (4 - (json.Length % 4)) % 4)];
        byte[] bytes = [.. good[..GlbHeaderBytes], .. padded, .. rest];
        BinaryPrimitives.WriteInt32LittleEndian(bytes.AsSpan(8), bytes.Length);
        BinaryPrimitives.WriteInt32LittleEndian(bytes.AsSpan(12), padded.Length);
        return bytes;
    }

    private static void Change(JsonNode root, Random random)
    {
        // Down a random way; each step may be the last.
        JsonNode parent = root;
        while (true)
        {
            (int count, Func<int, JsonNode?> child) = parent is JsonObject o
                ? (o.Count, i => o[o.ElementAt(i).Key])
                : (parent.AsArray().Count, (Func<int, JsonNode?>)(i => parent[i]));
            if (count == 0)
            {
                return;
            }

            int at = random.Next(count);
            if (child(at) is JsonNode next and (JsonObject or JsonArray) && random.Next(6) > 0)
            {
                parent = next;
                continue;
            }

            Replace(parent, at, random);
            return;
        }
    }

    private static void Replace(JsonNode parent, int at, Random random)
    {
        JsonNode? value = JsonNode.Parse(Values[random.Next(Values.Length)]);
        switch (parent, random.Next(4))
        {
            case (JsonObject o, 0):
                o.RemoveAt(at);
                break;
            case (JsonArray a, 0):
                a.RemoveAt(at);
                break;
            case (JsonArray a, 1):
                a.Add(a[at]?.DeepClone());
                break;
            case (JsonObject o, _):
                o[o.ElementAt(at).Key] = value;
                break;
            default:
                parent[at] = value;
                break;
        }
    }

    private static byte[] OfBytes(byte[] good, Random random)
    {
        List<byte> bytes = [.. good];
        for (int change = random.Next(1, 8); change > 0 && bytes.Count > 8; change--)
        {
            int at = random.Next(bytes.Count);
            switch (random.Next(5))
            {
                case 0:
                    bytes[at] = (byte)random.Next(256);
                    break;
                case 1:
                    bytes.RemoveRange(at, random.Next(Math.Min(40, bytes.Count - at)));
                    break;
                case 2:
                    bytes.InsertRange(at, Encoding.ASCII.GetBytes(Words[random.Next(Words.Length)]));
                    break;
                case 3:
                    bytes.InsertRange(at, bytes.GetRange(random.Next(at + 1), Math.Min(30, bytes.Count - at)));
                    break;
                case 4 when at + 4 <= bytes.Count:
                    BinaryPrimitives.WriteUInt32LittleEndian(
                        CollectionsMarshal.AsSpan(bytes)[at..], Numbers[random.Next(Numbers.Length)]);
                    break;
            }
        }

        return [.. bytes];
    }
}
