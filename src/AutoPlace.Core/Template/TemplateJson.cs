using System.Text.Json;
using AutoPlace.Geometry;

namespace AutoPlace.Template;

/// <summary>A JSON value together with where it stands, so that every complaint can name its element.</summary>
internal readonly struct TemplateJson
{
    private readonly string _file;
    private readonly JsonElement _value;

    public TemplateJson(string file, string element, JsonElement value)
    {
        _file = file;
        Element = element;
        _value = value;
    }

    /// <summary>The element's path in the file; empty for the root.</summary>
    public string Element { get; }

    public int Count => Expect(JsonValueKind.Array)._value.GetArrayLength();

    /// <summary>The same value under a name that a person recognises.</summary>
    public TemplateJson Named(string element) => new(_file, element, _value);

    public TemplateFormatException Error(string reason) => new(_file, Element.Length == 0 ? null : Element, reason);

    public TemplateJson this[int index] => new(_file, $"{Element}[{index}]", _value[index]);

    public IEnumerable<TemplateJson> Items()
    {
        int index = 0;
        TemplateJson self = Expect(JsonValueKind.Array);
        foreach (JsonElement item in self._value.EnumerateArray())
        {
            yield return new TemplateJson(self._file, $"{self.Element}[{index++}]", item);
        }
    }

    public IEnumerable<(string Name, TemplateJson Value)> Members()
    {
        TemplateJson self = Expect(JsonValueKind.Object);
        var seen = new HashSet<string>(StringComparer.Ordinal);
        foreach (JsonProperty member in self._value.EnumerateObject())
        {
            if (!seen.Add(member.Name))
            {
                throw self.Error($"member '{member.Name}' appears twice");
            }

            yield return (member.Name, new TemplateJson(self._file, self.PathOf(member.Name), member.Value));
        }
    }

    /// <summary>Refuses members with other names, and members that appear twice.</summary>
    public void AllowOnly(params ReadOnlySpan<string> names)
    {
        string[] allowed = names.ToArray();
        foreach ((string name, _) in Members())
        {
            if (Array.IndexOf(allowed, name) < 0)
            {
                throw Error($"unknown member '{name}'");
            }
        }
    }

    public TemplateJson Require(string name) =>
        Optional(name) ?? throw Error($"member '{name}' is missing");

    public TemplateJson? Optional(string name)
    {
        return Expect(JsonValueKind.Object)._value.TryGetProperty(name, out JsonElement member)
            && member.ValueKind != JsonValueKind.Null
            ? new TemplateJson(_file, PathOf(name), member)
            : null;
    }

    public string Text()
    {
        string text = Expect(JsonValueKind.String)._value.GetString()!;
        return text.Length > 0 ? text : throw Error("an empty string");
    }

    public bool Flag() => _value.ValueKind switch
    {
        JsonValueKind.True => true,
        JsonValueKind.False => false,
        _ => throw Error($"expected true or false, found {Kind(_value.ValueKind)}"),
    };

    public double Number()
    {
        return Expect(JsonValueKind.Number)._value.TryGetDouble(out double number) && double.IsFinite(number)
            ? number
            : throw Error("a number outside the range of double precision");
    }

    public int Index(int count)
    {
        return Expect(JsonValueKind.Number)._value.TryGetInt32(out int index) && (uint)index < (uint)count
            ? index
            : throw Error($"{_value.GetRawText()} is no index of {count} elements");
    }

    public Vector3d Vector()
    {
        return Count == 3
            ? new Vector3d(this[0].Number(), this[1].Number(), this[2].Number())
            : throw Error($"{Count} numbers where three are needed");
    }

    public T Word<T>((T Value, string Word)[] table)
        where T : struct, Enum
    {
        string text = Text();
        foreach ((T value, string word) in table)
        {
            if (string.Equals(word, text, StringComparison.Ordinal))
            {
                return value;
            }
        }

        throw Error($"'{text}' is none of {string.Join(", ", table.Select(entry => entry.Word))}");
    }

    public IReadOnlyList<string> Texts() => [.. Items().Select(item => item.Text())];

    private static string Kind(JsonValueKind kind) => kind switch
    {
        JsonValueKind.Array => "an array",
        JsonValueKind.Object => "an object",
        JsonValueKind.String => "a string",
        JsonValueKind.Number => "a number",
        JsonValueKind.Null => "null",
        _ => "a truth value",
    };

    private string PathOf(string member) => Element.Length == 0 ? member : $"{Element}.{member}";

    private TemplateJson Expect(JsonValueKind kind) =>
        _value.ValueKind == kind ? this : throw Error($"expected {Kind(kind)}, found {Kind(_value.ValueKind)}");
}
