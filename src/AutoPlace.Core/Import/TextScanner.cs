using System.Buffers.Text;
using System.Text;

namespace AutoPlace.Import;

/// <summary>
/// Walks through the words of a text file without copying. Words are parted by spaces and tabs; a line ends with LF,
/// CR LF or CR. Where the format has comments, <c>#</c> at the start of a word hides the rest of the line.
/// </summary>
internal ref struct TextScanner
{
    private const int MaximumExactPower = 22;
    private const ulong MaximumExactMantissa = 1UL << 53;

    private static readonly double[] PowersOfTen =
    [
        1e0, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19,
        1e20, 1e21, 1e22,
    ];

    private readonly ReadOnlySpan<byte> _text;
    private readonly bool _comments;
    private readonly bool _continuations;

    /// <summary>Begins at the first word of the first line.</summary>
    /// <param name="text">The text, ASCII or UTF-8; a byte order mark is skipped.</param>
    /// <param name="comments">Whether <c>#</c> begins a comment.</param>
    /// <param name="continuations">Whether a backslash before the end of a line joins it with the next.</param>
    public TextScanner(ReadOnlySpan<byte> text, bool comments, bool continuations = false)
    {
        _text = text;
        _comments = comments;
        _continuations = continuations;
        Position = text is [0xEF, 0xBB, 0xBF, ..] ? 3 : 0;
        Line = 1;
    }

    /// <summary>Number of the current line, from 1.</summary>
    public int Line { get; private set; }

    /// <summary>Offset of the next byte.</summary>
    public int Position { get; private set; }

    /// <summary>The next word of this line.</summary>
    public bool TryWord(out ReadOnlySpan<byte> word)
    {
        SkipBlanks();
        int start = Position;
        ReadOnlySpan<byte> text = _text;
        int i = start;
        while (i < text.Length && text[i] > (byte)' ' && !(text[i] == (byte)'\\' && IsContinuation(i)))
        {
            i++;
        }

        if (i == start || (_comments && text[start] == (byte)'#'))
        {
            word = default;
            return false;
        }

        Position = i;
        word = text[start..i];
        return true;
    }

    /// <summary>The next word of this line or of a line below.</summary>
    public bool TryWordBelow(out ReadOnlySpan<byte> word)
    {
        while (!TryWord(out word))
        {
            if (!NextLine())
            {
                return false;
            }
        }

        return true;
    }

    /// <summary>The rest of this line without blanks around it; comment signs in it don't count.</summary>
    public ReadOnlySpan<byte> RestOfLine()
    {
        SkipBlanks();
        int start = Position;
        int length = _text[start..].IndexOfAny((byte)'\n', (byte)'\r');
        Position = length < 0 ? _text.Length : start + length;
        return _text[start..Position].TrimEnd(" \t\0"u8);
    }

    /// <summary>Goes to the start of the next line; false when there is none.</summary>
    public bool NextLine()
    {
        int i = Position;
        while (true)
        {
            int length = _text[i..].IndexOfAny((byte)'\n', (byte)'\r');
            if (length < 0)
            {
                Position = _text.Length;
                return false;
            }

            i += length;
            bool joined = _continuations && i > Position && _text[i - 1] == (byte)'\\';
            i += _text[i..].StartsWith("\r\n"u8) ? 2 : 1;
            Line++;
            if (!joined)
            {
                Position = i;
                return i < _text.Length;
            }
        }
    }

    /// <summary>Reads a whole word as a number.</summary>
    /// <returns>False when the word is no finite number.</returns>
    public static bool TryNumber(ReadOnlySpan<byte> word, out float value)
    {
        if (TryShortNumber(word, out double exact))
        {
            value = (float)exact;
            return float.IsFinite(value);
        }

        return Utf8Parser.TryParse(word, out value, out int used) && used == word.Length && float.IsFinite(value);
    }

    /// <summary>Reads a whole word as an integer.</summary>
    public static bool TryInteger(ReadOnlySpan<byte> word, out long value) =>
        Utf8Parser.TryParse(word, out value, out int used) && used == word.Length;

    /// <summary>A word for a message: cut to a length that fits and without control characters.</summary>
    public static string Quoted(ReadOnlySpan<byte> word)
    {
        const int Longest = 32;
        var text = new StringBuilder();
        foreach (char c in Encoding.UTF8.GetString(word[..Math.Min(Longest, word.Length)]))
        {
            text.Append(char.IsControl(c) ? '?' : c);
        }

        return text.Append(word.Length > Longest ? "..." : "").ToString();
    }

    /// <summary>
    /// Decimal numbers whose digits fit 53 bits and whose power of ten is exact in double precision, so that a single
    /// multiplication or division rounds correctly (Clinger 1990, section 3). Others are left to the library.
    /// </summary>
    private static bool TryShortNumber(ReadOnlySpan<byte> word, out double value)
    {
        value = 0;
        int i = 0;
        bool negative = word.Length > 0 && word[0] == (byte)'-';
        i += negative ? 1 : 0;
        ulong mantissa = 0;
        int digits = 0;
        int power = 0;
        bool fraction = false;
        for (; i < word.Length; i++)
        {
            uint digit = (uint)word[i] - '0';
            if (digit <= 9)
            {
                mantissa = (10 * mantissa) + digit;
                digits++;
                power -= fraction ? 1 : 0;
            }
            else if (word[i] == (byte)'.' && !fraction)
            {
                fraction = true;
            }
            else
            {
                break;
            }
        }

        if (digits is 0 or > 18 || mantissa > MaximumExactMantissa)
        {
            return false;
        }

        if (i < word.Length)
        {
            if ((word[i] | 0x20) != 'e' || !Utf8Parser.TryParse(word[(i + 1)..], out int exponent, out int used)
                || i + 1 + used != word.Length || exponent is < -100 or > 100)
            {
                return false;
            }

            power += exponent;
        }

        if (Math.Abs(power) > MaximumExactPower)
        {
            return false;
        }

        value = power < 0 ? mantissa / PowersOfTen[-power] : mantissa * PowersOfTen[power];
        value = negative ? -value : value;
        return true;
    }

    private void SkipBlanks()
    {
        ReadOnlySpan<byte> text = _text;
        int i = Position;
        while (i < text.Length)
        {
            byte b = text[i];
            if (b is (byte)'\n' or (byte)'\r')
            {
                break;
            }

            if (b > (byte)' ')
            {
                if (b != (byte)'\\' || !IsContinuation(i))
                {
                    break;
                }

                i += text[(i + 1)..].StartsWith("\r\n"u8) ? 2 : 1;
                Line++;
            }

            i++;
        }

        Position = i;
    }

    private readonly bool IsContinuation(int backslash) =>
        _continuations && backslash + 1 < _text.Length && (_text[backslash + 1] is (byte)'\n' or (byte)'\r');
}
