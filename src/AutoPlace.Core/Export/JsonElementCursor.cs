using System.Text.Json;
using AutoPlace.Geometry;
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

    internal PlacementFormatException Wrong(string reason) => new(File, Path.Length == 0 ? null : Path, reason);

    /// <summary>The element itself, after checking that it is an object with exactly these keys.</summary>
    internal JsonElementCursor Object(params ReadOnlySpan<string> keys)
    {
        Expect(JsonValueKind.Object, "an object");
        foreach (JsonProperty property in Json.EnumerateObject())
        {
            if (!keys.Contains(property.Name))
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

    /// <summary>The value of a key that <see cref="Object"/> has checked to be there.</summary>
    internal JsonElementCursor Key(string key) =>
        new(File, Path.Length == 0 ? key : $"{Path}.{key}", Json.GetProperty(key));

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

    internal Vector3d Direction()
    {
        Vector3d v = Vector();
        return Math.Abs(v.Length - 1) <= UnitTolerance ? v : throw Wrong($"a direction of length {v.Length:G6}, not 1");
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
