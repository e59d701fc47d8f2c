using System.Numerics;
using AutoPlace.Export;
using Xunit;

namespace AutoPlace.Tests.Export;

public sealed class PictureCanvasTests
{
    [Theory]
    [InlineData(MarkerShape.Disc)]
    [InlineData(MarkerShape.Square)]
    [InlineData(MarkerShape.Diamond)]
    [InlineData(MarkerShape.Triangle)]
    public void Markers_have_the_area_of_the_disc(MarkerShape shape)
    {
        foreach (float radius in (float[])[6, 11.3f])
        {
            PictureCanvas canvas = Black();
            canvas.AddMarker(shape, new(32.3f, 31.6f), radius);
            canvas.Paint(Vector3.One);
            float area = MathF.PI * radius * radius;
            Assert.Equal(area, Painted(canvas), 0.03f * area);
        }
    }

    [Fact]
    public void Stroke_has_the_area_of_a_rectangle_with_round_ends()
    {
        PictureCanvas canvas = Black();
        canvas.AddStroke(new(12.3f, 20.1f), new(45.8f, 41.7f), 5);
        canvas.Paint(Vector3.One);
        float length = new Vector2(33.5f, 21.6f).Length(), area = (length * 5) + (MathF.PI * 2.5f * 2.5f);
        Assert.Equal(area, Painted(canvas), 0.02f * area);
    }

    [Fact]
    public void What_overlaps_within_one_painting_is_painted_once()
    {
        PictureCanvas canvas = Black();
        canvas.AddStroke(new(10, 32), new(50, 32), 4);
        canvas.AddStroke(new(32, 10), new(32, 50), 4);
        canvas.Paint(Vector3.One, 0.5f);
        Assert.Equal(0.5f, canvas.Pixels[(32 * 64) + 32].X, 1e-6f);
        canvas.Paint(Vector3.One, 0.5f);
        Assert.Equal(0.5f, canvas.Pixels[(32 * 64) + 32].X, 1e-6f);
    }

    [Fact]
    public void Drawing_across_and_beyond_the_border_is_cut_off()
    {
        PictureCanvas canvas = Black();
        canvas.AddStroke(new(-500, 10), new(500, 10), 2);
        canvas.AddMarker(MarkerShape.Disc, new(64, 64), 5);
        canvas.AddMarker(MarkerShape.Square, new(-90, 900), 5);
        canvas.Paint(Vector3.One);
        float expected = (64 * 2) + (MathF.PI * 25 / 4);
        Assert.Equal(expected, Painted(canvas), 1.5f);
    }

    [Fact]
    public void Captions_stay_within_their_width_and_every_letter_shows()
    {
        foreach (char letter in "abcdefghijklmnopqrstuvwxyz0123456789-_.,:/%+()")
        {
            PictureCanvas canvas = Black();
            string text = letter.ToString();
            StrokeFont.Add(canvas, text, new(10, 40), 24);
            canvas.Paint(Vector3.One);
            Assert.True(Painted(canvas) > 3, $"'{letter}' is blank");
            float right = 10 + StrokeFont.Width(text, 24) + 2;
            for (int y = 0; y < 64; y++)
            {
                for (int x = 0; x < 64; x++)
                {
                    bool inside = x >= 7 && x <= right && y >= 40 - 20 && y <= 40 + 8;
                    Assert.True(inside || canvas.Pixels[(y * 64) + x].X == 0, $"'{letter}' reaches ({x}, {y})");
                }
            }
        }
    }

    private static PictureCanvas Black() => new(64, 64, Vector3.Zero);

    private static float Painted(PictureCanvas canvas)
    {
        float sum = 0;
        foreach (Vector3 pixel in canvas.Pixels)
        {
            sum += pixel.X;
        }

        return sum;
    }
}
