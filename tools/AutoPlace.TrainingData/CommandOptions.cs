using System.Globalization;

namespace AutoPlace.TrainingData;

/// <summary>The words behind a command: --name value, or --name alone.</summary>
internal sealed class CommandOptions
{
    private readonly Dictionary<string, string> _values = [];

    /// <summary>Reads the words.</summary>
    /// <param name="words">Everything behind the command.</param>
    /// <param name="known">Names that the command knows, without dashes.</param>
    /// <exception cref="FormatException">A word that isn't an option, or an option that the command doesn't know.</exception>
    public CommandOptions(ReadOnlySpan<string> words, params ReadOnlySpan<string> known)
    {
        for (int i = 0; i < words.Length; i++)
        {
            string name = words[i].StartsWith("--", StringComparison.Ordinal) ? words[i][2..] : "";
            if (!known.Contains(name))
            {
                throw new FormatException($"unknown option '{words[i]}'; known: --{string.Join(", --", known.ToArray())}");
            }

            bool hasValue = i + 1 < words.Length && !words[i + 1].StartsWith("--", StringComparison.Ordinal);
            _values[name] = hasValue ? words[++i] : "";
        }
    }

    /// <summary>True if the option was given.</summary>
    public bool Has(string name) => _values.ContainsKey(name);

    /// <summary>Value of an option that must be there.</summary>
    /// <exception cref="FormatException">It isn't.</exception>
    public string Required(string name) =>
        _values.TryGetValue(name, out string? value) && value.Length > 0 ? value : throw new FormatException($"--{name} is missing");

    /// <summary>Whole number of an option.</summary>
    /// <exception cref="FormatException">Not a whole number of at least zero.</exception>
    public int Whole(string name, int otherwise) =>
        !_values.TryGetValue(name, out string? value) ? otherwise
        : int.TryParse(value, NumberStyles.None, CultureInfo.InvariantCulture, out int number) ? number
        : throw new FormatException($"--{name}: '{value}' is not a whole number of at least 0");

    /// <summary>Value of an option, or null.</summary>
    public string? Text(string name) => _values.GetValueOrDefault(name);
}
