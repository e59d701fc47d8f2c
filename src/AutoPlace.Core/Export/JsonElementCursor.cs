using System.Globalization;
using System.Text.Json;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration.Correcting;
using AutoPlace.Template;

namespace AutoPlace.Export;

/// <summary>
/// An element of a JSON document that knows its own path, so that every complaint names the file and the element.
/// All methods throw <see cref="PlacementFormatException"/> when the element isn't what is asked for.
/// </summary>
/// <param name="File">Name of the file, for messages.</param>
/// <param name="Path">Where the element is ("joints[12].position"); empty for the root.</param>
/// <param name="Json">The element.</param>
internal readonly record struct JsonElementCursor(string File, string Path, JsonElement Json)
{
    /// <summary>A quaternion's length may differ from 1, and two directions' inner product from 0, by this much.</summary>
    internal const double UnitTolerance = 1e-4;

    /// <summary>A written position may be this much farther than <see cref="Corrections.Farthest"/>, as a part of it: what rounding does.</summary>
    private const double PositionTolerance = 1e-5;

    /// <summary>
    /// Farthest that a place in the atlas and a lift may be, interocular distances: a region of a tenth of the template's size takes
    /// <see cref="Corrections.Farthest"/> as far there.
    /// </summary>
    private const double FarthestInAtlas = 10 * Corrections.Farthest;

    private static readonly JsonDocumentOptions Strict = new() { AllowDuplicateProperties = false };

    /// <summary>Parses a file; a syntax error is a complaint about its line.</summary>
    internal static JsonDocument Parse(Stream stream, string file)
    {
        try
        {
            return JsonDocument.Parse(stream, Strict);
        }
        catch (JsonException e)
        {
            string? element = e.LineNumber is null ? null : $"line {e.LineNumber + 1}";
            throw new PlacementFormatException(file, element, $"not valid JSON: {JsonSyntax.Reason(e)}", e);
        }
    }

    internal PlacementFormatException Wrong(string reason) => new(File, Path.Length == 0 ? null : Path, reason);

    /// <summary>The element itself, after checking that it is an object with exactly these keys.</summary>
    internal JsonElementCursor Object(params ReadOnlySpan<string> keys) => Object(keys, []);

    /// <summary>The element itself, after checking that it is an object with all of some keys and no others but those that may be left out.</summary>
    internal JsonElementCursor Object(ReadOnlySpan<string> keys, ReadOnlySpan<string> optional)
    {
        Expect(JsonValueKind.Object, "an object");
        foreach (JsonProperty property in Json.EnumerateObject())
        {
            if (!keys.Contains(property.Name) && !optional.Contains(property.Name))
            {
                throw Wrong($"unknown key \"{property.Name}\"");
            }
        }

        foreach (string key in keys)
        {
            if (!Json.TryGetProperty(key, out _))
            {
                throw Wrong($"key \"{key}\" is missing");
            }
        }

        return this;
    }

    /// <summary>The value of a key that <see cref="Object(ReadOnlySpan{string})"/> has checked to be there.</summary>
    internal JsonElementCursor Key(string key) =>
        new(File, Path.Length == 0 ? key : $"{Path}.{key}", Json.GetProperty(key));

    /// <summary>The value of a key that may be left out; null where it is, or is null.</summary>
    internal JsonElementCursor? Given(string key) =>
        Json.TryGetProperty(key, out JsonElement value) && value.ValueKind != JsonValueKind.Null ? Key(key) : null;

    internal IReadOnlyList<T> Items<T>(Func<JsonElementCursor, T> read)
    {
        Expect(JsonValueKind.Array, "an array");
        var items = new List<T>(Json.GetArrayLength());
        foreach (JsonElement item in Json.EnumerateArray())
        {
            items.Add(read(new JsonElementCursor(File, $"{Path}[{items.Count}]", item)));
        }

        return items;
    }

    /// <summary>Items of an array whose names differ from each other.</summary>
    internal IReadOnlyList<T> NamedItems<T>(Func<JsonElementCursor, T> read, Func<T, string> name)
    {
        IReadOnlyList<T> items = Items(read);
        var seen = new HashSet<string>(StringComparer.Ordinal);
        foreach (T item in items)
        {
            if (!seen.Add(name(item)))
            {
                throw Wrong($"\"{name(item)}\" is used twice");
            }
        }

        return items;
    }

    /// <summary>Checks that the element is a given word.</summary>
    internal void Exactly(string word)
    {
        if (Text() != word)
        {
            throw Wrong($"expected \"{word}\"");
        }
    }

    /// <summary>Checks that the element is the version that this program knows.</summary>
    internal void Exactly(int version)
    {
        if (Number() != version)
        {
            throw Wrong($"this program reads version {version} only");
        }
    }

    internal string Text()
    {
        Expect(JsonValueKind.String, "a string");
        return Json.GetString()!;
    }

    internal string Name()
    {
        string name = Text();
        return name.Length > 0 ? name : throw Wrong("the name is empty");
    }

    internal string? NameOrNull() => Json.ValueKind == JsonValueKind.Null ? null : Name();

    internal string Sha256()
    {
        string hash = Text();
        return hash.Length == 64 && hash.All(c => char.IsAsciiDigit(c) || c is >= 'a' and <= 'f')
            ? hash
            : throw Wrong("not a SHA-256 in 64 lower-case hexadecimal digits");
    }

    internal bool Flag() => Json.ValueKind switch
    {
        JsonValueKind.True => true,
        JsonValueKind.False => false,
        _ => throw Wrong("expected true or false"),
    };

    internal double Number()
    {
        Expect(JsonValueKind.Number, "a number");
        double value = Json.GetDouble();
        return double.IsFinite(value) ? value : throw Wrong("the number is too large");
    }

    internal double Positive()
    {
        double value = Number();
        return value > 0 ? value : throw Wrong($"{value} is not positive");
    }

    internal double NonNegative()
    {
        double value = Number();
        return value >= 0 ? value : throw Wrong($"{value} is negative");
    }

    /// <summary>Position of the element's word among the words of an enumeration.</summary>
    internal int Word(string[] words)
    {
        string word = Text();
        int index = Array.IndexOf(words, word);
        return index >= 0 ? index : throw Wrong($"\"{word}\" is none of {string.Join(", ", words)}");
    }

    internal Vector3d Vector()
    {
        IReadOnlyList<double> v = Numbers(3);
        return new(v[0], v[1], v[2]);
    }

    /// <summary>A position in the coordinates of a head's file; not so far away that it can't belong to the head.</summary>
    /// <param name="of">Name of what lies there.</param>
    /// <param name="frame">Where the head is in its file.</param>
    internal Vector3d Position(string of, HeadFrame frame)
    {
        Vector3d position = Vector();
        double distance = frame.ToHead(position).Length;
        return distance <= Corrections.Farthest * (1 + PositionTolerance)
            ? position
            : throw Wrong(string.Create(CultureInfo.InvariantCulture, $"{of} lies {distance:G4} interocular distances from the head, more than {Corrections.Farthest:G4}"));
    }

    /// <summary>A point of the atlas.</summary>
    /// <param name="of">Name of what lies there.</param>
    internal Vector3d AtlasPoint(string of)
    {
        Vector3d point = Vector();
        return point.Length <= FarthestInAtlas
            ? point
            : throw Wrong(string.Create(CultureInfo.InvariantCulture, $"{of} lies {point.Length:G4} interocular distances from the atlas' middle, more than {FarthestInAtlas:G5}"));
    }

    /// <summary>A signed distance from the skin, in the unit of a head's file.</summary>
    /// <param name="frame">Where the head is in its file.</param>
    internal double Lift(HeadFrame frame)
    {
        double lift = Number();
        return Math.Abs(lift) <= FarthestInAtlas * frame.InterocularDistance
            ? lift
            : throw Wrong(string.Create(CultureInfo.InvariantCulture, $"{lift:G4} is more than {FarthestInAtlas:G5} interocular distances"));
    }

    internal Vector3d Direction()
    {
        Vector3d v = Vector();
        return Math.Abs(v.Length - 1) <= UnitTolerance ? v : throw Wrong($"a direction of length {v.Length:G6}, not 1");
    }

    /// <summary>A head frame: origin and three directions at right angles.</summary>
    internal HeadFrame Frame(double interocularDistance)
    {
        Object("origin", "left", "up", "front");
        (Vector3d left, Vector3d up, Vector3d front) = (Key("left").Direction(), Key("up").Direction(), Key("front").Direction());
        double skew = Math.Max(Math.Abs(Vector3d.Dot(left, up)), Math.Max(Math.Abs(Vector3d.Dot(up, front)), Math.Abs(Vector3d.Dot(front, left))));
        return skew <= UnitTolerance
            ? new HeadFrame(Key("origin").Vector(), left, up, front, interocularDistance)
            : throw Wrong("left, up and front are not at right angles");
    }

    internal Rotation3d Rotation()
    {
        IReadOnlyList<double> q = Numbers(4);
        var rotation = new Rotation3d(q[0], q[1], q[2], q[3]);
        return Math.Abs(rotation.Norm - 1) <= UnitTolerance
            ? rotation
            : throw Wrong($"a quaternion of length {rotation.Norm:G6}, not 1");
    }

    private IReadOnlyList<double> Numbers(int count)
    {
        IReadOnlyList<double> numbers = Items(static e => e.Number());
        return numbers.Count == count ? numbers : throw Wrong($"{numbers.Count} numbers, not {count}");
    }

    private void Expect(JsonValueKind kind, string what)
    {
        if (Json.ValueKind != kind)
        {
            throw Wrong($"expected {what}");
        }
    }
}
