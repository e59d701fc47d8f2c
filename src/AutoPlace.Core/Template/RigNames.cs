namespace AutoPlace.Template;

/// <summary>
/// What names of joints tell, however they are written: <c>brow_2_left</c>, <c>L_brow02</c>, <c>browLeft2</c>. Words end at
/// signs, between letters and digits, and where small letters are followed by a capital.
/// </summary>
internal static class RigNames
{
    private static readonly (string Left, string Right)[] SideWords = [("left", "right"), ("Left", "Right"), ("LEFT", "RIGHT"), ("l", "r"), ("L", "R")];

    /// <summary>The words of a name as they are written, with their places.</summary>
    public static IReadOnlyList<Range> Words(string name)
    {
        var words = new List<Range>();
        int start = 0;
        for (int i = 1; i <= name.Length; i++)
        {
            if (i == name.Length || IsBorder(name, i))
            {
                if (char.IsLetterOrDigit(name[start]))
                {
                    words.Add(start..i);
                }

                start = i;
            }
        }

        return words;
    }

    /// <summary>The words in small letters.</summary>
    public static string[] LowerWords(string name) => [.. Words(name).Select(word => name[word].ToLowerInvariant())];

    /// <summary>Names that the twin of a joint may have: one word for a side exchanged, or all of them.</summary>
    public static IReadOnlyList<string> Mirrored(string name)
    {
        var names = new List<string>();
        var all = new System.Text.StringBuilder(name);
        foreach (Range word in Words(name).Reverse())
        {
            if (OtherSide(name[word]) is { } other)
            {
                (int start, int length) = word.GetOffsetAndLength(name.Length);
                names.Add(string.Concat(name.AsSpan(0, start), other, name.AsSpan(start + length)));
                all.Remove(start, length).Insert(start, other);
            }
        }

        return names.Count > 1 ? [.. names, all.ToString()] : names;
    }

    private static string? OtherSide(string word)
    {
        foreach ((string left, string right) in SideWords)
        {
            if (word == left || word == right)
            {
                return word == left ? right : left;
            }
        }

        return null;
    }

    private static bool IsBorder(string name, int i)
    {
        (char before, char at) = (name[i - 1], name[i]);
        bool wordBefore = char.IsLetterOrDigit(before), wordAt = char.IsLetterOrDigit(at);
        bool capital = char.IsUpper(at) && (char.IsLower(before) || (char.IsUpper(before) && i + 1 < name.Length && char.IsLower(name[i + 1])));
        return wordBefore != wordAt || (wordBefore && (char.IsDigit(before) != char.IsDigit(at) || capital));
    }
}
