using System.Numerics;

namespace AutoPlace.Export;

/// <summary>
/// Captions of pictures, drawn with strokes, so that no font file is needed: letters (upper case is drawn as lower
/// case), digits and a few marks. Anything else leaves a gap.
/// </summary>
internal static class StrokeFont
{
    // Each glyph: strokes separated by blanks, each a chain of points "xy" on a grid 4 wide and 8 high. The baseline is
    // at 2, lower-case letters reach to 6, ascenders and digits to 8, descenders to 0. A chain of one point is a dot.
    private static readonly Dictionary<char, string> Glyphs = new()
    {
        ['a'] = "4642 4536160503123243",
        ['b'] = "0802 0516364543321203",
        ['c'] = "4536160503123243",
        ['d'] = "4842 4536160503123243",
        ['e'] = "04444536160503123243",
        ['f'] = "38281712 0636",
        ['g'] = "4641301001 4536160503123243",
        ['h'] = "0802 0516364542",
        ['i'] = "0602 08",
        ['j'] = "161100 18",
        ['k'] = "0802 460442",
        ['l'] = "0802",
        ['m'] = "0602 05162522 25364542",
        ['n'] = "0602 0516364542",
        ['o'] = "051636454332120305",
        ['p'] = "0600 0516364543321203",
        ['q'] = "4640 4536160503123243",
        ['r'] = "0602 041636",
        ['s'] = "45361605143443321203",
        ['t'] = "18132232 0636",
        ['u'] = "0603123243 4642",
        ['v'] = "062246",
        ['w'] = "0612243246",
        ['x'] = "0642 4602",
        ['y'] = "0622 4610",
        ['z'] = "06460242",
        ['0'] = "071838474332120307",
        ['1'] = "072822",
        ['2'] = "0718384746030242",
        ['3'] = "071838474635443212 03 3515",
        ['4'] = "32380444",
        ['5'] = "480805354443321203",
        ['6'] = "4738180703123243443505",
        ['7'] = "084812",
        ['8'] = "1506071838474635150403123243443515",
        ['9'] = "0312324347381807061545",
        ['-'] = "1434",
        ['_'] = "0242",
        ['.'] = "02",
        [','] = "1201",
        [':'] = "02 05",
        ['/'] = "0248",
        ['%'] = "0248 08 42",
        ['+'] = "0444 2622",
        ['('] = "18060412",
        [')'] = "08161402",
    };

    private const float GridHeight = 8, Baseline = 2, LetterGap = 1.7f, BlankWidth = 3;

    /// <summary>Width of a line of text in pixels.</summary>
    /// <param name="text">The text.</param>
    /// <param name="height">From the lowest descender to the highest ascender, pixels.</param>
    internal static float Width(string text, float height)
    {
        float width = 0;
        foreach (char letter in text)
        {
            width += GlyphWidth(letter) + LetterGap;
        }

        return MathF.Max(0, width - LetterGap) * height / GridHeight;
    }

    /// <summary>Gathers a line of text on a canvas; paint it afterwards.</summary>
    /// <param name="canvas">The canvas.</param>
    /// <param name="text">The text.</param>
    /// <param name="origin">Left end of the baseline, pixels.</param>
    /// <param name="height">From the lowest descender to the highest ascender, pixels.</param>
    internal static void Add(PictureCanvas canvas, string text, Vector2 origin, float height)
    {
        float unit = height / GridHeight, pen = MathF.Max(1.1f, 0.75f * unit), x = 0;
        foreach (char letter in text)
        {
            foreach (string stroke in Glyph(letter).Split(' ', StringSplitOptions.RemoveEmptyEntries))
            {
                Vector2 At(int point) => origin + (new Vector2(x + stroke[point] - '0', Baseline - (stroke[point + 1] - '0')) * unit);
                for (int point = 0; point < stroke.Length; point += 2)
                {
                    canvas.AddStroke(At(Math.Max(0, point - 2)), At(point), pen);
                }
            }

            x += GlyphWidth(letter) + LetterGap;
        }
    }

    private static string Glyph(char letter) =>
        Glyphs.GetValueOrDefault(char.ToLowerInvariant(letter), string.Empty);

    private static float GlyphWidth(char letter)
    {
        string glyph = Glyph(letter);
        float width = 0;
        for (int i = 0; i < glyph.Length; i++)
        {
            if (glyph[i] == ' ')
            {
                continue;
            }

            width = MathF.Max(width, glyph[i] - '0');
            i++; // the y of the point
        }

        return glyph.Length == 0 ? BlankWidth : width;
    }
}
