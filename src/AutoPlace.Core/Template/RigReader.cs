using System.Text.Json;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Template;

/// <summary>
/// Reads rigs. JSON: <c>{"joints": [{"name", "position": [x, y, z], "rotation"?: [x, y, z, w], "parent"?, "kind"?}]}</c>,
/// world coordinates, kind "other" for what is no joint; other members are left alone and said. glTF and GLB: the joints of its skins, or its plain nodes.
/// </summary>
public static class RigReader
{
    /// <summary>The word that tells a node that only comes along (an aim target, an up marker) from a joint.</summary>
    private const string OtherKind = "other";

    /// <summary>Reads a rig file.</summary>
    /// <param name="path">The file, as the user gave it.</param>
    /// <exception cref="TemplateFormatException">It can't be read, is of another kind, or breaks a rule; the message names file, element and reason.</exception>
    public static Rig Read(string path)
    {
        ArgumentException.ThrowIfNullOrEmpty(path);
        try
        {
            return Read(path, File.ReadAllBytes(path), FilesBeside.Of(path));
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            throw new TemplateFormatException(path, null, e.Message, e);
        }
    }

    /// <summary>Reads the contents of a rig file.</summary>
    /// <param name="file">Name of the file, for messages.</param>
    /// <param name="bytes">Its contents.</param>
    /// <param name="openBeside">Opens a file that a .gltf file refers to, see <see cref="MeshReadOptions.OpenBeside"/>; null when there is none.</param>
    /// <exception cref="TemplateFormatException">As for the file.</exception>
    public static Rig Read(string file, ReadOnlyMemory<byte> bytes, Func<string, Stream>? openBeside = null)
    {
        ArgumentNullException.ThrowIfNull(file);
        ReadOnlyMemory<byte> text = bytes.Span.StartsWith("\uFEFF"u8) ? bytes[3..] : bytes;
        if (text.Span.StartsWith("glTF"u8))
        {
            return ReadGltf(file, text, openBeside);
        }

        if (!IsJson(text.Span))
        {
            throw new TemplateFormatException(file, null, "is no rig: a rig is JSON with a list of joints, or glTF");
        }

        using JsonDocument document = TemplateReader.Parse(file, text);
        bool isGltf = document.RootElement.ValueKind == JsonValueKind.Object && document.RootElement.TryGetProperty("asset", out _);
        return isGltf ? ReadGltf(file, text, openBeside) : ReadJson(file, document);
    }

    // A faulty file is a faulty rig: one kind of exception, the same message.
    private static Rig ReadGltf(string file, ReadOnlyMemory<byte> bytes, Func<string, Stream>? openBeside)
    {
        try
        {
            return GltfRig.Read(file, bytes, openBeside);
        }
        catch (MeshFormatException e)
        {
            throw new TemplateFormatException(file, e.Element, e.Reason, e);
        }
    }

    private static Rig ReadJson(string file, JsonDocument document)
    {
        var root = new TemplateJson(file, string.Empty, document.RootElement);
        var ignored = new SortedSet<string>(StringComparer.Ordinal);
        Note(root, string.Empty, ["joints"], ignored);
        RigJoint[] joints = [.. root.Require("joints").Items().Select(entry => ReadJoint(entry, ignored))];
        return RigRules.Checked(file, joints, ignored.Count == 0 ? [] : [$"left alone: {string.Join(", ", ignored)}"]);
    }

    private static RigJoint ReadJoint(TemplateJson entry, SortedSet<string> ignored)
    {
        string name = entry.Require("name").Text();
        TemplateJson joint = entry.Named($"joint '{name}'");
        Note(joint, "joints[].", ["name", "parent", "position", "rotation", "kind"], ignored);
        Vector3d position = joint.Require("position").Vector();
        Rotation3d rotation = joint.Optional("rotation") is { } given ? TemplateReader.ReadRotation(given) : Rotation3d.Identity;
        bool isJoint = joint.Optional("kind")?.Text() != OtherKind;
        return new RigJoint(name, joint.Optional("parent")?.Text(), position, rotation.Normalized(), isJoint);
    }

    private static void Note(TemplateJson element, string prefix, string[] known, SortedSet<string> ignored)
    {
        foreach ((string member, _) in element.Members())
        {
            if (Array.IndexOf(known, member) < 0)
            {
                ignored.Add(prefix + member);
            }
        }
    }

    // An object or array, after white space.
    private static bool IsJson(ReadOnlySpan<byte> bytes)
    {
        int first = bytes.IndexOfAnyExcept(" \t\r\n"u8);
        return first >= 0 && bytes[first] is (byte)'{' or (byte)'[';
    }
}
