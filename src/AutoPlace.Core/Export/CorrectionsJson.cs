using System.Text;
using System.Text.Json;
using AutoPlace.Conditioning;

namespace AutoPlace.Export;

/// <summary>
/// Reads and writes corrections.json. The order of all keys and of the joints is fixed and vectors stand on one line,
/// so that two of them can be compared and merged as text.
/// </summary>
public static class CorrectionsJson
{
    /// <summary>Value of the key "format".</summary>
    public const string Format = "autoplace.corrections";

    /// <summary>Value of the key "version".</summary>
    public const int Version = 1;

    /// <summary>The JSON Schema (draft 2020-12) of the format, as text.</summary>
    public static string Schema()
    {
        using Stream stream = typeof(CorrectionsJson).Assembly.GetManifestResourceStream("corrections.schema.json")!;
        using var reader = new StreamReader(stream, Encoding.UTF8);
        return reader.ReadToEnd();
    }

    /// <summary>Writes a corrections.json as UTF-8 without byte order mark, ended by a line feed.</summary>
    /// <param name="document">What to write; nothing is rounded here.</param>
    /// <param name="stream">Receives the file; stays open.</param>
    /// <exception cref="ArgumentException">A number isn't finite.</exception>
    public static void Write(CorrectionsDocument document, Stream stream)
    {
        ArgumentNullException.ThrowIfNull(document);
        ArgumentNullException.ThrowIfNull(stream);
        using (var json = new Utf8JsonWriter(stream, PlacementJson.Layout))
        {
            json.WriteStartObject();
            json.WriteString("format", Format);
            json.WriteNumber("version", Version);
            json.WriteStartObject("head");
            json.WriteString("source", document.Source);
            json.WriteString("sha256", document.Sha256);
            PlacementJson.WriteNumber(json, "interocularDistance", document.Frame.InterocularDistance);
            PlacementJson.WriteFrame(json, document.Frame);
            json.WriteEndObject();
            json.WriteStartObject("template");
            json.WriteString("name", document.TemplateName);
            json.WriteString("version", document.TemplateVersion);
            json.WriteEndObject();
            PlacementJson.WriteArray(json, "joints", [.. document.Joints.OrderBy(joint => joint.Name, StringComparer.Ordinal)], WriteJoint);
            PlacementJson.WriteArray(json, "landmarks", [.. document.Landmarks.OrderBy(landmark => landmark.Name, StringComparer.Ordinal)], WriteLandmark);
            json.WriteEndObject();
        }

        stream.WriteByte((byte)'\n');
    }

    /// <summary>
    /// Reads a corrections.json: no key may be there that isn't known, and values must be of the right kind. Of a joint or landmark
    /// only its name and what is fixed of it have to be there; what isn't is left to the program.
    /// </summary>
    /// <param name="stream">The file's bytes, UTF-8.</param>
    /// <param name="file">Name of the file, for messages.</param>
    /// <exception cref="PlacementFormatException">It isn't valid; the message names the element.</exception>
    public static CorrectionsDocument Read(Stream stream, string file)
    {
        ArgumentNullException.ThrowIfNull(stream);
        ArgumentNullException.ThrowIfNull(file);
        using JsonDocument json = JsonElementCursor.Parse(stream, file);
        var root = new JsonElementCursor(file, "", json.RootElement);
        root.Object("format", "version", "head", "template", "joints", "landmarks");
        root.Key("format").Exactly(Format);
        root.Key("version").Exactly(Version);
        JsonElementCursor head = root.Key("head").Object("source", "sha256", "interocularDistance", "frame");
        JsonElementCursor template = root.Key("template").Object("name", "version");
        HeadFrame frame = head.Key("frame").Frame(head.Key("interocularDistance").Positive());
        return new CorrectionsDocument
        {
            Source = head.Key("source").Name(),
            Sha256 = head.Key("sha256").Sha256(),
            Frame = frame,
            TemplateName = template.Key("name").Name(),
            TemplateVersion = template.Key("version").Name(),
            Joints = root.Key("joints").NamedItems(joint => ReadJoint(joint, frame), joint => joint.Name),
            Landmarks = root.Key("landmarks").NamedItems(landmark => ReadLandmark(landmark, frame), landmark => landmark.Name),
        };
    }

    private static void WriteJoint(Utf8JsonWriter json, CorrectedJoint joint)
    {
        json.WriteString("name", joint.Name);
        Write(json, "position", joint.Position, PlacementJson.WriteVector);
        Write(json, "atlasPoint", joint.AtlasPoint, PlacementJson.WriteVector);
        Write(json, "lift", joint.Lift, PlacementJson.WriteNumber);
        Write(json, "rotation", joint.Rotation, PlacementJson.WriteRotation);
        json.WriteStartObject("lock");
        json.WriteBoolean("position", joint.Position is not null);
        json.WriteBoolean("rotation", joint.Rotation is not null);
        json.WriteBoolean("bodyRig", joint.OfBodyRig);
        json.WriteEndObject();
        Write(json, "influence", joint.Influence, PlacementJson.WriteNumber);
        json.WriteBoolean("carriesChildren", joint.CarriesChildren);
        json.WriteString("note", joint.Note);
    }

    private static CorrectedJoint ReadJoint(JsonElementCursor joint, HeadFrame frame)
    {
        joint.Object(["name"], ["position", "atlasPoint", "lift", "rotation", "lock", "influence", "carriesChildren", "note"]);
        JsonElementCursor? locks = joint.Given("lock")?.Object([], ["position", "rotation", "bodyRig"]);
        string name = joint.Key("name").Name();
        var read = new CorrectedJoint
        {
            Name = name,
            Position = joint.Given("position")?.Position(name, frame),
            AtlasPoint = joint.Given("atlasPoint")?.AtlasPoint(name),
            Lift = joint.Given("lift")?.Lift(frame),
            Rotation = joint.Given("rotation")?.Rotation(),
            OfBodyRig = locks?.Given("bodyRig")?.Flag() == true,
            Influence = joint.Given("influence")?.NonNegative(),
            CarriesChildren = joint.Given("carriesChildren")?.Flag() == true,
            Note = joint.Given("note")?.Text(),
        };
        CheckLock(locks?.Given("position"), "position", read.Position is not null);
        CheckLock(locks?.Given("rotation"), "rotation", read.Rotation is not null);
        return read.Position is null && read.Rotation is null ? throw joint.Wrong($"{name} has neither a position nor a rotation") : read;
    }

    // A lock fixes the value beside it: one without the other has no meaning.
    private static void CheckLock(JsonElementCursor? element, string what, bool given)
    {
        if (element is { } flag && flag.Flag() != given)
        {
            throw flag.Wrong(given ? $"a {what} is given but not locked" : $"the {what} is locked but not given");
        }
    }

    private static void WriteLandmark(Utf8JsonWriter json, CorrectedLandmark landmark)
    {
        json.WriteString("name", landmark.Name);
        PlacementJson.WriteVector(json, "position", landmark.Position);
        Write(json, "atlasPoint", landmark.AtlasPoint, PlacementJson.WriteVector);
        json.WriteString("note", landmark.Note);
    }

    private static CorrectedLandmark ReadLandmark(JsonElementCursor landmark, HeadFrame frame)
    {
        landmark.Object(["name", "position"], ["atlasPoint", "note"]);
        string name = landmark.Key("name").Name();
        return new CorrectedLandmark(
            name, landmark.Key("position").Position(name, frame), landmark.Given("atlasPoint")?.AtlasPoint(name), landmark.Given("note")?.Text());
    }

    private static void Write<T>(Utf8JsonWriter json, string name, T? value, Action<Utf8JsonWriter, string, T> write)
        where T : struct
    {
        if (value is { } given)
        {
            write(json, name, given);
        }
        else
        {
            json.WriteNull(name);
        }
    }
}
