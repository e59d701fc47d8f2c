using System.Numerics;
using System.Security.Cryptography;
using System.Text.Json;
using AutoPlace.Geometry;
using AutoPlace.Import;

namespace AutoPlace.Template;

/// <summary>Reads template files (<c>autoplace.template</c>, version 1) and checks them strictly.</summary>
public static class TemplateReader
{
    /// <summary>Reads a template.</summary>
    /// <param name="file">Name of the file as the user gave it, for messages.</param>
    /// <param name="json">The file's bytes, UTF-8.</param>
    /// <exception cref="TemplateFormatException">
    /// The bytes aren't JSON, a member is missing, unknown or of the wrong kind, or the lattice breaks a rule of
    /// <see cref="LatticeRules"/>; the message names the element.
    /// </exception>
    public static TemplateHead Read(string file, ReadOnlyMemory<byte> json)
    {
        ArgumentNullException.ThrowIfNull(file);
        using JsonDocument document = Parse(file, json);
        var root = new TemplateJson(file, string.Empty, document.RootElement);
        RequireVersion(root);
        root.AllowOnly(
            "format", "version", "name", "templateVersion", "notice", "mesh", "landmarks", "joints", "rows", "columns",
            "reduced", "coverage", "eyeballRadius");
        TemplateJson mesh = root.Require("mesh");
        mesh.AllowOnly("vertices", "faces", "parts", "atlas");
        PolygonMesh polygons = ReadMesh(mesh);
        var template = new TemplateHead
        {
            Name = root.Require("name").Text(),
            Version = root.Require("templateVersion").Text(),
            Notice = root.Optional("notice")?.Text(),
            Sha256 = Convert.ToHexStringLower(SHA256.HashData(json.Span)),
            Mesh = polygons,
            AtlasPositions = mesh.Optional("atlas") is { } atlas ? ReadAtlas(atlas, polygons.VertexCount) : default(ReadOnlyMemory<Vector3>?),
            FaceParts = ReadParts(mesh.Require("parts"), polygons.FaceCount),
            Landmarks = ReadLandmarks(root.Require("landmarks")),
            EyeballRadius = root.Optional("eyeballRadius") is { } radius ? ReadRadius(radius) : null,
            Lattice = new JointLattice(
                [.. root.Require("joints").Items().Select(ReadJoint)],
                ReadSequences(root.Require("rows"), "row"),
                ReadSequences(root.Require("columns"), "column")),
            ReducedJoints = root.Optional("reduced")?.Texts() ?? [],
            Coverage = root.Optional("coverage") is { } coverage ? ReadCoverage(coverage) : TemplateHead.NoCoverage,
        };
        LatticeRules.Check(file, template);
        return template;
    }

    private static double ReadRadius(TemplateJson radius) =>
        radius.Number() is > 0 and double value ? value : throw radius.Error("not positive");

    internal static JsonDocument Parse(string file, ReadOnlyMemory<byte> json)
    {
        try
        {
            return JsonDocument.Parse(json);
        }
        catch (JsonException e)
        {
            throw new TemplateFormatException(file, $"line {e.LineNumber + 1}", "not JSON: " + JsonSyntax.Reason(e), e);
        }
    }

    private static void RequireVersion(TemplateJson root)
    {
        TemplateJson format = root.Require("format");
        if (format.Text() != TemplateVocabulary.Format)
        {
            throw format.Error($"'{format.Text()}' is not '{TemplateVocabulary.Format}'");
        }

        TemplateJson version = root.Require("version");
        if (version.Number() != TemplateVocabulary.Version)
        {
            throw version.Error($"version {version.Number()} where {TemplateVocabulary.Version} is understood");
        }
    }

    private static PolygonMesh ReadMesh(TemplateJson mesh)
    {
        TemplateJson vertices = mesh.Require("vertices");
        Vector3[] positions = ReadPositions(vertices);
        TemplateJson faces = mesh.Require("faces");
        int[] starts = new int[faces.Count + 1];
        var corners = new List<int>(4 * faces.Count);
        int next = 0;
        foreach (TemplateJson face in faces.Items())
        {
            if (face.Count < 3)
            {
                throw face.Error($"{face.Count} corners");
            }

            corners.AddRange(face.Items().Select(corner => corner.Index(positions.Length)));
            starts[++next] = corners.Count;
        }

        return new PolygonMesh(positions, starts, [.. corners]);
    }

    private static Vector3[] ReadPositions(TemplateJson numbers)
    {
        if (numbers.Count % 3 != 0)
        {
            throw numbers.Error($"{numbers.Count} numbers are not a multiple of three");
        }

        var positions = new Vector3[numbers.Count / 3];
        int next = 0;
        Span<float> triple = stackalloc float[3];
        foreach (TemplateJson number in numbers.Items())
        {
            triple[next % 3] = (float)number.Number();
            if (++next % 3 == 0)
            {
                positions[(next / 3) - 1] = new Vector3(triple);
            }
        }

        return positions;
    }

    private static Vector3[] ReadAtlas(TemplateJson atlas, int vertices)
    {
        Vector3[] points = ReadPositions(atlas);
        return points.Length == vertices
            ? points
            : throw atlas.Error($"{points.Length} atlas points for {vertices} vertices");
    }

    private static string[] ReadParts(TemplateJson parts, int faces)
    {
        string[] names = new string[faces];
        int next = 0;
        foreach (TemplateJson part in parts.Items())
        {
            part.AllowOnly("name", "faces");
            TemplateJson count = part.Require("faces");
            int end = next + count.Index(faces - next + 1);
            Array.Fill(names, part.Require("name").Text(), next, end - next);
            next = end;
        }

        return next == faces ? names : throw parts.Error($"the parts hold {next} of {faces} faces");
    }

    private static Dictionary<string, Vector3d> ReadLandmarks(TemplateJson landmarks)
    {
        var points = new Dictionary<string, Vector3d>(StringComparer.Ordinal);
        foreach ((string name, TemplateJson value) in landmarks.Members())
        {
            points.Add(name, value.Vector());
        }

        return points;
    }

    private static ControlJoint ReadJoint(TemplateJson entry)
    {
        string name = entry.Require("name").Text();
        TemplateJson joint = entry.Named($"joint '{name}'");
        joint.AllowOnly(
            "name", "region", "side", "kind", "parent", "position", "rotation", "ride", "lift", "skinPoint",
            "rotationPolicy", "aimTarget", "twin", "rigid", "inFold");
        return new ControlJoint
        {
            Name = name,
            Region = joint.Optional("region")?.Text(),
            Side = joint.Optional("side")?.Word(TemplateVocabulary.Sides),
            Kind = joint.Require("kind").Word(TemplateVocabulary.Kinds),
            Parent = joint.Optional("parent")?.Text(),
            Position = joint.Require("position").Vector(),
            Rotation = joint.Optional("rotation") is { } rotation ? ReadRotation(rotation) : Rotation3d.Identity,
            Ride = joint.Require("ride").Word(TemplateVocabulary.Rides),
            Lift = joint.Optional("lift")?.Number() ?? 0,
            SkinPoint = joint.Optional("skinPoint")?.Vector(),
            RotationPolicy = joint.Optional("rotationPolicy")?.Word(TemplateVocabulary.Policies) ?? RotationPolicy.KeepWorld,
            AimTarget = joint.Optional("aimTarget")?.Text(),
            Twin = joint.Optional("twin")?.Text(),
            RigidGroup = joint.Optional("rigid")?.Text(),
            InFold = joint.Optional("inFold")?.Flag() ?? false,
        };
    }

    internal static Rotation3d ReadRotation(TemplateJson rotation)
    {
        // Eight decimals, as the writer leaves them, count as exact, so that reading and writing again changes nothing;
        // fewer, as in files made by hand, are brought to length 1.
        const double WrittenTolerance = 1e-7, HandmadeTolerance = 1e-3;
        if (rotation.Count != 4)
        {
            throw rotation.Error($"{rotation.Count} numbers where four are needed");
        }

        var value = new Rotation3d(rotation[0].Number(), rotation[1].Number(), rotation[2].Number(), rotation[3].Number());
        double error = Math.Abs(value.Norm - 1);
        return error <= WrittenTolerance ? value
            : error <= HandmadeTolerance ? value.Normalized()
            : throw rotation.Error($"a quaternion of length {value.Norm:R}");
    }

    private static IReadOnlyList<JointSequence> ReadSequences(TemplateJson sequences, string word)
    {
        return [.. sequences.Items().Select(Read)];

        JointSequence Read(TemplateJson entry)
        {
            string name = entry.Require("name").Text();
            TemplateJson sequence = entry.Named($"{word} '{name}'");
            sequence.AllowOnly("name", "joints", "closed");
            return new JointSequence(name, sequence.Require("joints").Texts(), sequence.Optional("closed")?.Flag() ?? false);
        }
    }

    private static Dictionary<string, IReadOnlyList<string>> ReadCoverage(TemplateJson coverage)
    {
        var table = new Dictionary<string, IReadOnlyList<string>>(StringComparer.Ordinal);
        foreach ((string name, TemplateJson value) in coverage.Members())
        {
            table.Add(name, value.Texts());
        }

        return table;
    }
}
