using System.Buffers;
using System.Globalization;
using System.Numerics;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>
/// Writes template files (<c>autoplace.template</c>, version 1): one line for each joint, row, landmark and face
/// group, so that two versions can be compared as text.
/// </summary>
public static class TemplateWriter
{
    // Positions and lifts in 1e-6 of the interocular distance: below single precision of the mesh, far below 0.1 %.
    private const string LengthFormat = "0.######";
    private const string RotationFormat = "0.########";

    /// <summary>Writes a template as UTF-8 JSON with LF line ends.</summary>
    /// <param name="template">The template; its <see cref="TemplateHead.Sha256"/> is ignored.</param>
    /// <exception cref="TemplateFormatException">The lattice breaks a rule of <see cref="LatticeRules"/>.</exception>
    public static byte[] Write(TemplateHead template)
    {
        ArgumentNullException.ThrowIfNull(template);
        LatticeRules.Check(template.Name, template);
        var text = new StringBuilder();
        text.Append("{\n");
        text.Append($"\"format\": {Quote(TemplateVocabulary.Format)},\n\"version\": {TemplateVocabulary.Version},\n");
        text.Append($"\"name\": {Quote(template.Name)},\n\"templateVersion\": {Quote(template.Version)},\n");
        if (template.Notice is not null)
        {
            text.Append($"\"notice\": {Quote(template.Notice)},\n");
        }

        if (template.EyeballRadius is { } radius)
        {
            text.Append($"\"eyeballRadius\": {Number(radius, LengthFormat)},\n");
        }

        List(text, "landmarks", '{', template.Landmarks.Select(pair => $"{Quote(pair.Key)}: {Vector(pair.Value)}"), '}');
        List(text, "joints", '[', template.Lattice.Joints.Select(Joint), ']');
        List(text, "rows", '[', template.Lattice.Rows.Select(Sequence), ']');
        List(text, "columns", '[', template.Lattice.Columns.Select(Sequence), ']');
        text.Append($"\"reduced\": {Texts(template.ReducedJoints)},\n");
        List(text, "coverage", '{', template.Coverage.Select(pair => $"{Quote(pair.Key)}: {Texts(pair.Value)}"), '}');
        Mesh(text, template);
        text.Append("}\n");
        return Encoding.UTF8.GetBytes(text.ToString());
    }

    private static void List(StringBuilder text, string name, char open, IEnumerable<string> lines, char close)
    {
        text.Append($"\"{name}\": {open}\n").AppendJoin(",\n", lines).Append($"\n{close},\n");
    }

    private static string Joint(ControlJoint joint)
    {
        var text = new StringBuilder();
        text.Append($"{{\"name\": {Quote(joint.Name)}");
        AppendText(text, "region", joint.Region);
        AppendText(text, "side", joint.Side is { } side ? TemplateVocabulary.WordFor(TemplateVocabulary.Sides, side) : null);
        AppendText(text, "kind", TemplateVocabulary.WordFor(TemplateVocabulary.Kinds, joint.Kind));
        AppendText(text, "parent", joint.Parent);
        text.Append($", \"position\": {Vector(joint.Position)}");
        Rotation3d r = joint.Rotation;
        if (r != Rotation3d.Identity)
        {
            text.Append($", \"rotation\": [{Number(r.X, RotationFormat)}, {Number(r.Y, RotationFormat)}, {Number(r.Z, RotationFormat)}, {Number(r.W, RotationFormat)}]");
        }

        AppendText(text, "ride", TemplateVocabulary.WordFor(TemplateVocabulary.Rides, joint.Ride));
        if (joint.Lift != 0)
        {
            text.Append($", \"lift\": {Number(joint.Lift, LengthFormat)}");
        }

        if (joint.SkinPoint is { } skinPoint)
        {
            text.Append($", \"skinPoint\": {Vector(skinPoint)}");
        }

        AppendText(text, "rotationPolicy", TemplateVocabulary.WordFor(TemplateVocabulary.Policies, joint.RotationPolicy));
        AppendText(text, "aimTarget", joint.AimTarget);
        AppendText(text, "twin", joint.Twin);
        AppendText(text, "rigid", joint.RigidGroup);
        return text.Append(joint.InFold ? ", \"inFold\": true}" : "}").ToString();
    }

    private static string Sequence(JointSequence sequence) =>
        $"{{\"name\": {Quote(sequence.Name)}, \"joints\": {Texts(sequence.Joints)}{(sequence.Closed ? ", \"closed\": true" : string.Empty)}}}";

    private static void Mesh(StringBuilder text, TemplateHead template)
    {
        PolygonMesh mesh = template.Mesh;
        text.Append("\"mesh\": {\n");
        Points(text, "vertices", mesh.Positions);
        if (template.AtlasPositions is { } atlas)
        {
            Points(text, "atlas", atlas.Span);
        }

        text.Append("\"faces\": [\n");
        for (int f = 0; f < mesh.FaceCount; f++)
        {
            text.Append('[');
            foreach (int corner in mesh.Face(f))
            {
                text.Append(CultureInfo.InvariantCulture, $"{corner},");
            }

            text.Length--;
            text.Append(f + 1 < mesh.FaceCount ? (f % 8 == 7 ? "],\n" : "],") : "]\n");
        }

        text.Append("],\n\"parts\": [").AppendJoin(", ", PartRuns(template.FaceParts)).Append("]\n}\n");
    }

    private static void Points(StringBuilder text, string name, ReadOnlySpan<Vector3> points)
    {
        text.Append($"\"{name}\": [\n");
        for (int v = 0; v < points.Length; v++)
        {
            Vector3 p = points[v];
            text.Append($"{Number(p.X, LengthFormat)},{Number(p.Y, LengthFormat)},{Number(p.Z, LengthFormat)}");
            text.Append(v + 1 < points.Length ? (v % 4 == 3 ? ",\n" : ",") : "\n");
        }

        text.Append("],\n");
    }

    private static IEnumerable<string> PartRuns(IReadOnlyList<string> faceParts)
    {
        int start = 0;
        for (int f = 1; f <= faceParts.Count; f++)
        {
            if (f == faceParts.Count || faceParts[f] != faceParts[start])
            {
                yield return $"{{\"name\": {Quote(faceParts[start])}, \"faces\": {f - start}}}";
                start = f;
            }
        }
    }

    private static void AppendText(StringBuilder text, string name, string? value)
    {
        if (value is not null)
        {
            text.Append($", \"{name}\": {Quote(value)}");
        }
    }

    private static string Vector(Vector3d v) =>
        $"[{Number(v.X, LengthFormat)}, {Number(v.Y, LengthFormat)}, {Number(v.Z, LengthFormat)}]";

    private static string Texts(IReadOnlyList<string> texts) => $"[{string.Join(", ", texts.Select(Quote))}]";

    // "-0" would make mirrored zeros differ from each other in the text.
    private static string Number(double value, string format)
    {
        string text = value.ToString(format, CultureInfo.InvariantCulture);
        return text == "-0" ? "0" : text;
    }

    private static string Quote(string text)
    {
        var buffer = new ArrayBufferWriter<byte>();
        using (var writer = new Utf8JsonWriter(buffer, new JsonWriterOptions { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping }))
        {
            writer.WriteStringValue(text);
        }

        return Encoding.UTF8.GetString(buffer.WrittenSpan);
    }
}
