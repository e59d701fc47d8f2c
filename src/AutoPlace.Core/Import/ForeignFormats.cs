using System.Buffers.Binary;
using System.Text;

namespace AutoPlace.Import;

/// <summary>Names of formats that aren't read, told by content or extension, so that they can be refused by name.</summary>
public static class ForeignFormats
{
    private const int BinaryProbeBytes = 4096;

    private static readonly (byte[] Start, string Name)[] Starts =
    [
        ("Kaydara FBX Binary"u8.ToArray(), "FBX (binary)"),
        ("; FBX"u8.ToArray(), "FBX (text)"),
        ("PXR-USDC"u8.ToArray(), "USDC"),
        ("#usda"u8.ToArray(), "USDA"),
        ("BLENDER"u8.ToArray(), "BLEND"),
        ("Ogawa"u8.ToArray(), "ABC (Alembic)"),
        ([0x89, (byte)'H', (byte)'D', (byte)'F'], "HDF5"),
        ("//Maya ASCII"u8.ToArray(), "MA"),
        ("FOR4"u8.ToArray(), "MB"),
        ("FOR8"u8.ToArray(), "MB"),
        ("FORM"u8.ToArray(), "an IFF file (LWO, LXO)"),
        ("#Inventor"u8.ToArray(), "Inventor"),
        ("#VRML"u8.ToArray(), "VRML"),
        ("#X3D"u8.ToArray(), "X3D"),
        ("xof "u8.ToArray(), "X"),
        ("DRACO"u8.ToArray(), "DRC (Draco)"),
        ("ISO-10303-21"u8.ToArray(), "STEP"),
        ("3D Geometry File Format"u8.ToArray(), "3DM"),
        ("# vtk DataFile"u8.ToArray(), "VTK"),
        ("MeshVersionFormatted"u8.ToArray(), "MESH"),
        ("%PDF"u8.ToArray(), "PDF"),
        ([0x89, (byte)'P', (byte)'N', (byte)'G'], "PNG"),
        ([0xFF, 0xD8, 0xFF], "JPEG"),
        ([0x1F, 0x8B], "GZIP"),
        ([0x28, 0xB5, 0x2F, 0xFD], "Zstandard (compressed BLEND or other)"),
        ([(byte)'7', (byte)'z', 0xBC, 0xAF], "7Z"),
    ];

    private static readonly Dictionary<string, string> Extensions = new(StringComparer.OrdinalIgnoreCase)
    {
        ["fbx"] = "FBX",
        ["usd"] = "USD",
        ["usda"] = "USDA",
        ["usdc"] = "USDC",
        ["usdz"] = "USDZ",
        ["dae"] = "DAE (COLLADA)",
        ["zae"] = "ZAE (COLLADA)",
        ["3ds"] = "3DS",
        ["max"] = "MAX",
        ["blend"] = "BLEND",
        ["abc"] = "ABC (Alembic)",
        ["ma"] = "MA",
        ["mb"] = "MB",
        ["zip"] = "ZIP",
        ["3mf"] = "3MF",
        ["amf"] = "AMF",
        ["lwo"] = "LWO",
        ["lxo"] = "LXO",
        ["c4d"] = "C4D",
        ["ztl"] = "ZTL",
        ["x3d"] = "X3D",
        ["wrl"] = "VRML",
        ["iv"] = "Inventor",
        ["x"] = "X",
        ["drc"] = "DRC (Draco)",
        ["vtk"] = "VTK",
        ["vrm"] = "VRM",
        ["pmx"] = "PMX",
        ["pmd"] = "PMD",
        ["md5mesh"] = "MD5",
    };

    /// <summary>Name of the format that the content shows, or null.</summary>
    /// <param name="bytes">Contents of the file.</param>
    /// <param name="extension">Tells formats in a ZIP container apart.</param>
    internal static string? ByContent(ReadOnlySpan<byte> bytes, string extension)
    {
        if (bytes.StartsWith("PK\u0003\u0004"u8) || bytes.StartsWith("PK\u0005\u0006"u8))
        {
            return extension is "usdz" or "3mf" or "zae" or "amf" ? Extensions[extension] : "ZIP";
        }

        foreach ((byte[] start, string name) in Starts)
        {
            if (bytes.StartsWith(start))
            {
                return name;
            }
        }

        ReadOnlySpan<byte> text = bytes[(bytes is [0xEF, 0xBB, 0xBF, ..] ? 3 : 0)..].TrimStart(" \t\r\n"u8);
        if (text.StartsWith("<"u8))
        {
            return XmlName(text[..Math.Min(text.Length, BinaryProbeBytes)]);
        }

        bool mainChunk = bytes.Length >= 6 && bytes[0] == 0x4D && bytes[1] == 0x4D
            && BinaryPrimitives.ReadUInt32LittleEndian(bytes[2..]) == bytes.Length;
        return mainChunk ? "3DS" : null;
    }

    /// <summary>Name of the format that the extension stands for, or null when it is none of these.</summary>
    /// <param name="extension">The extension, with or without its dot, in either case.</param>
    public static string? ByExtension(string extension)
    {
        ArgumentNullException.ThrowIfNull(extension);
        return Extensions.GetValueOrDefault(extension.TrimStart('.'));
    }

    /// <summary>Whether the beginning holds bytes that no text has.</summary>
    internal static bool LooksBinary(ReadOnlySpan<byte> bytes) =>
        bytes[..Math.Min(bytes.Length, BinaryProbeBytes)].Contains((byte)0);

    private static string XmlName(ReadOnlySpan<byte> text) => Encoding.UTF8.GetString(text) switch
    {
        string s when s.Contains("<COLLADA", StringComparison.Ordinal) => "DAE (COLLADA)",
        string s when s.Contains("<X3D", StringComparison.Ordinal) => "X3D",
        string s when s.Contains("<VTKFile", StringComparison.Ordinal) => "VTK",
        string s when s.Contains("<amf", StringComparison.Ordinal) => "AMF",
        _ => "XML",
    };
}
