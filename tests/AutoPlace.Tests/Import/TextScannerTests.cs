using System.Globalization;
using System.Text;
using AutoPlace.Import;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Import;

public sealed class TextScannerTests
{
    [Theory]
    [InlineData("R")]
    [InlineData("E8")]
    public void Finite_numbers_come_back_bit_for_bit(string format) => Gen.Int.Sample(
        bits =>
        {
            float value = BitConverter.Int32BitsToSingle(bits);
            string word = value.ToString(format, CultureInfo.InvariantCulture);
            bool read = TextScanner.TryNumber(Encoding.ASCII.GetBytes(word), out float back);

            Assert.Equal(float.IsFinite(value), read);
            Assert.True(!read || BitConverter.SingleToInt32Bits(back) == bits, $"{word} came back as {back:R}");
        },
        iter: 20_000);

    [Fact]
    public void Decimal_numbers_are_those_of_the_library_up_to_the_last_bit() => Gen.Select(
        Gen.Char["+-0"], Gen.Char["0123456789"].Array[0, 12], Gen.Char["0123456789"].Array[0, 12], Gen.Int[-60, 60]).Sample(
        (sign, whole, fraction, exponent) =>
        {
            string word = (sign == '0' ? "" : sign) + new string(whole) + "." + new string(fraction)
                + (exponent % 3 == 0 ? "" : $"e{exponent}");
            bool known = float.TryParse(word, NumberStyles.Float, CultureInfo.InvariantCulture, out float expected)
                && float.IsFinite(expected);
            bool read = TextScanner.TryNumber(Encoding.ASCII.GetBytes(word), out float value);

            Assert.Equal(known, read);
            Assert.True(
                !read || value == expected || value == MathF.BitIncrement(expected) || value == MathF.BitDecrement(expected),
                $"{word}: {value:R} instead of {expected:R}");
        },
        iter: 20_000);

    [Theory]
    [InlineData("")]
    [InlineData("-")]
    [InlineData(".")]
    [InlineData("e5")]
    [InlineData("1e")]
    [InlineData("1e+")]
    [InlineData("1.2.3")]
    [InlineData("1,5")]
    [InlineData("0x10")]
    [InlineData("1f")]
    [InlineData("--1")]
    [InlineData("NaN")]
    [InlineData("Infinity")]
    [InlineData("1e39")]
    public void Other_words_are_no_numbers(string word) =>
        Assert.False(TextScanner.TryNumber(Encoding.ASCII.GetBytes(word), out _));

    [Fact]
    public void Lines_are_counted_over_comments_and_continuations()
    {
        var text = new TextScanner("a # b\r\n\r\nc \\\nd e\\\r\nf\rg # h \\\ni"u8, comments: true, continuations: true);
        var found = new List<string>();
        do
        {
            while (text.TryWord(out ReadOnlySpan<byte> word))
            {
                found.Add($"{text.Line}{Encoding.ASCII.GetString(word)}");
            }
        }
        while (text.NextLine());

        // The comment after g is continued, so i belongs to it.
        Assert.Equal(["1a", "3c", "4d", "4e", "5f", "6g"], found);
    }
}
