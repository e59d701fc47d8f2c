using System.Globalization;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Template;
using AutoPlace.Verification;

namespace AutoPlace.Export;

/// <summary>
/// Writes placement.json. The order of all keys is fixed, vectors stand on one line, so that two placements can be
/// compared as text. <see cref="PlacementJsonReader"/> reads it back.
/// </summary>
public static class PlacementJson
{
    /// <summary>Value of the key "format".</summary>
    public const string Format = "autoplace.placement";

    /// <summary>Value of the key "version".</summary>
    public const int Version = 1;

    internal static readonly JsonWriterOptions Layout = new()
    {
        Indented = true,
        NewLine = "\n",
        Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    /// <summary>The JSON Schema (draft 2020-12) of the format, as text.</summary>
    public static string Schema()
    {
        using Stream stream = typeof(PlacementJson).Assembly.GetManifestResourceStream("placement.schema.json")!;
        using var reader = new StreamReader(stream, Encoding.UTF8);
        return reader.ReadToEnd();
    }

    /// <summary>Reads a placement.json.</summary>
    /// <param name="stream">The file's bytes, UTF-8.</param>
    /// <param name="file">Name of the file, for messages.</param>
    /// <exception cref="PlacementFormatException">It isn't a valid placement; the message names the element.</exception>
    public static PlacementDocument Read(Stream stream, string file) => PlacementJsonReader.Read(stream, file);

    /// <summary>Writes a placement.json as UTF-8 without byte order mark, ended by a line feed.</summary>
    /// <param name="document">What to write, as <see cref="FileCoordinates.Describe(PlacementResult)"/> or a reader gave it; nothing is rounded here.</param>
    /// <param name="stream">Receives the file; stays open.</param>
    /// <param name="onOneLine">True for no other line feed than the last, as JSON Lines have it.</param>
    /// <exception cref="ArgumentException">A number isn't finite.</exception>
    public static void Write(PlacementDocument document, Stream stream, bool onOneLine = false)
    {
        ArgumentNullException.ThrowIfNull(document);
        ArgumentNullException.ThrowIfNull(stream);
        using (var json = new Utf8JsonWriter(stream, Layout with { Indented = !onOneLine }))
        {
            json.WriteStartObject();
            json.WriteString("format", Format);
            json.WriteNumber("version", Version);
            WriteHead(json, document.Head);
            WriteIdentity(json, document);
            WriteArray(json, "landmarks", document.Landmarks, WriteLandmark);
            WriteArray(json, "joints", document.Joints, WriteJoint);
            WriteArray(json, "rows", document.Rows, WriteSequence);
            WriteArray(json, "columns", document.Columns, WriteSequence);
            WriteArray(json, "findings", document.Findings, WriteFinding);
            WriteArray(json, "timings", document.Timings, WriteTiming);
            json.WriteEndObject();
        }

        stream.WriteByte((byte)'\n');
    }

    private static void WriteHead(Utf8JsonWriter json, PlacedHead head)
    {
        json.WriteStartObject("head");
        json.WriteString("source", head.Source);
        json.WriteString("sha256", head.Sha256);
        WriteNumber(json, "metresPerUnit", head.MetresPerUnit);
        WriteNumber(json, "interocularDistance", head.Frame.InterocularDistance);
        WriteFrame(json, head.Frame);
        json.WriteStartObject("neutral");
        foreach ((string name, double value) in head.Neutral.OrderBy(n => n.Key, StringComparer.Ordinal))
        {
            WriteNumber(json, name, value);
        }

        json.WriteEndObject();
        json.WriteStartObject("needsPerson");
        WriteNumber(json, "probability", head.NeedsPerson.Probability);
        WriteStrings(json, "reasons", head.NeedsPerson.Reasons);
        json.WriteEndObject();
        json.WriteEndObject();
    }

    internal static void WriteFrame(Utf8JsonWriter json, HeadFrame frame)
    {
        json.WriteStartObject("frame");
        WriteVector(json, "origin", frame.Origin);
        WriteVector(json, "left", frame.Left);
        WriteVector(json, "up", frame.Up);
        WriteVector(json, "front", frame.Front);
        json.WriteEndObject();
    }

    private static void WriteIdentity(Utf8JsonWriter json, PlacementDocument document)
    {
        json.WriteStartObject("template");
        json.WriteString("name", document.Template.Name);
        json.WriteString("version", document.Template.Version);
        json.WriteString("sha256", document.Template.Sha256);
        json.WriteString("lattice", PlacementWords.Of(document.Template.Lattice));
        json.WriteEndObject();
        json.WriteStartObject("model");
        json.WriteString("name", document.Model.Name);
        json.WriteString("version", document.Model.Version);
        json.WriteString("sha256", document.Model.Sha256);
        json.WriteEndObject();
    }

    private static void WriteLandmark(Utf8JsonWriter json, PlacedLandmark landmark)
    {
        json.WriteString("name", landmark.Name);
        WriteVector(json, "position", landmark.Position);
        WriteNumber(json, "radius90", landmark.Radius90);
        json.WriteString("source", PlacementWords.Of(landmark.Source));
    }

    private static void WriteJoint(Utf8JsonWriter json, PlacedJoint joint)
    {
        json.WriteString("name", joint.Name);
        json.WriteString("region", joint.Region);
        json.WriteString("side", PlacementWords.Of(joint.Side));
        json.WriteString("kind", PlacementWords.Of(joint.Kind));
        json.WriteString("parent", joint.Parent);
        WriteVector(json, "position", joint.Position);
        WriteRotation(json, "rotation", joint.Rotation);
        json.WriteStartObject("local");
        WriteVector(json, "translation", joint.LocalTranslation);
        WriteRotation(json, "rotation", joint.LocalRotation);
        json.WriteEndObject();
        WriteNumber(json, "localSize", joint.LocalSize);
        json.WriteString("state", PlacementWords.Of(joint.State));
        WriteNumber(json, "lift", joint.Lift);
        WriteNumber(json, "radius90", joint.Radius90);
        json.WriteStartObject("lock");
        json.WriteBoolean("position", joint.PositionLocked);
        json.WriteBoolean("rotation", joint.RotationLocked);
        json.WriteEndObject();
    }

    private static void WriteSequence(Utf8JsonWriter json, JointSequence sequence)
    {
        json.WriteString("name", sequence.Name);
        WriteStrings(json, "joints", sequence.Joints);
        json.WriteBoolean("closed", sequence.Closed);
    }

    private static void WriteFinding(Utf8JsonWriter json, Finding finding)
    {
        json.WriteString("check", finding.Check);
        json.WriteString("severity", PlacementWords.Of(finding.Severity));
        json.WriteString("subject", finding.Subject);
        WriteNumber(json, "value", finding.Value);
        WriteNumber(json, "limit", finding.Limit);
        json.WriteString("unit", finding.Unit);
        json.WriteString("message", finding.Message);
    }

    private static void WriteTiming(Utf8JsonWriter json, StageTiming timing)
    {
        json.WriteString("stage", timing.Stage);
        WriteNumber(json, "ms", timing.Milliseconds);
    }

    internal static void WriteArray<T>(Utf8JsonWriter json, string name, IReadOnlyList<T> items, Action<Utf8JsonWriter, T> write)
    {
        json.WriteStartArray(name);
        foreach (T item in items)
        {
            json.WriteStartObject();
            write(json, item);
            json.WriteEndObject();
        }

        json.WriteEndArray();
    }

    private static void WriteStrings(Utf8JsonWriter json, string name, IReadOnlyList<string> items)
    {
        json.WriteStartArray(name);
        foreach (string item in items)
        {
            json.WriteStringValue(item);
        }

        json.WriteEndArray();
    }

    internal static void WriteVector(Utf8JsonWriter json, string name, Vector3d v) => WriteLine(json, name, [v.X, v.Y, v.Z]);

    internal static void WriteRotation(Utf8JsonWriter json, string name, Rotation3d q) => WriteLine(json, name, [q.X, q.Y, q.Z, q.W]);

    internal static void WriteNumber(Utf8JsonWriter json, string name, double value)
    {
        json.WritePropertyName(name);
        json.WriteRawValue(Text(value));
    }

    private static void WriteLine(Utf8JsonWriter json, string name, ReadOnlySpan<double> values)
    {
        var line = new StringBuilder("[");
        foreach (double value in values)
        {
            line.Append(line.Length > 1 ? ", " : "").Append(Text(value));
        }

        json.WritePropertyName(name);
        json.WriteRawValue(line.Append(']').ToString());
    }

    private static string Text(double value) => double.IsFinite(value)
        ? value.ToString("R", CultureInfo.InvariantCulture)
        : throw new ArgumentException($"{value} can't be written as a JSON number.");
}
