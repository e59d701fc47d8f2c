using AutoPlace.Landmarks;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Landmarks;

public sealed class HeatmapDecoderTests
{
    private const int Size = ModelContract.MapSize;
    private const double Cell = ModelContract.CellPixels;

    /// <summary>A blob of 0.6 cells lies within the window but for 1e-4 of its mass; the rest is the window's cut.</summary>
    [Fact]
    public void Narrow_blob_is_decoded_to_its_centre() =>
        Gen.Select(Gen.Double[10, 246], Gen.Double[10, 246]).Sample(
            (x, y) =>
            {
                HeatmapPeak peak = HeatmapDecoder.Decode(Blob(x, y, 0.6, 0.6), Size, Cell, 0);
                Assert.Equal(x, peak.X, 0.02);
                Assert.Equal(y, peak.Y, 0.02);
            },
            iter: 200,
            seed: "0000000000000001");

    [Fact]
    public void Blob_in_a_corner_keeps_to_the_map()
    {
        float[] logits = new float[Size * Size];
        Array.Fill(logits, -50f);
        logits[Size - 1] = 0;
        HeatmapPeak peak = HeatmapDecoder.Decode(logits, Size, Cell, 0);
        Assert.Equal(254, peak.X, 1e-9);
        Assert.Equal(2, peak.Y, 1e-9);
    }

    [Fact]
    public void Second_far_peak_has_no_say()
    {
        float[] one = Blob(100, 80, 0.8, 0.8), two = Blob(100, 80, 0.8, 0.8), far = Blob(200, 200, 0.8, 0.8);
        for (int i = 0; i < two.Length; i++)
        {
            two[i] = Math.Max(two[i], far[i] - 0.5f);
        }

        Assert.Equal(HeatmapDecoder.Decode(one, Size, Cell, 0).X, HeatmapDecoder.Decode(two, Size, Cell, 0).X, 1e-3);
    }

    /// <summary>A wide blob midway between two rows has two largest cells; which of them rounding favours mustn't show.</summary>
    [Fact]
    public void Position_does_not_jump_where_two_cells_are_equal()
    {
        HeatmapPeak above = HeatmapDecoder.Decode(Blob(122, 120 - 1e-5, 1.5, 1.5), Size, Cell, 0);
        HeatmapPeak below = HeatmapDecoder.Decode(Blob(122, 120 + 1e-5, 1.5, 1.5), Size, Cell, 0);
        Assert.Equal(above.Y, below.Y, 1e-3);
        Assert.Equal(120, above.Y, 0.01);
    }

    /// <summary>The variance of a Laplace distribution of scale b is 2 b².</summary>
    [Fact]
    public void Covariance_has_the_predicted_size_and_the_blobs_direction()
    {
        HeatmapPeak peak = HeatmapDecoder.Decode(Blob(120, 90, 1.1, 0.5), Size, Cell, Math.Log(3));
        Assert.Equal(Math.Sqrt(2) * 3, peak.Sigma, 1e-9);
        Assert.True(peak.VarianceX > 1.5 * peak.VarianceY);
        Assert.Equal(0, peak.CovarianceXY, 1e-6);
    }

    /// <summary>Maps and positions that the trainer's decoder wrote (little endian: count, size, then logits, x, y).</summary>
    [Fact]
    public void Stored_samples_of_the_trainer_agree_to_a_hundredth_of_a_pixel()
    {
        using var reader = new BinaryReader(File.OpenRead(Path.Combine(TestModel.Folder, "decode-samples.bin")));
        int count = reader.ReadInt32(), size = reader.ReadInt32();
        Assert.Equal(Size, size);
        Assert.True(count >= 10);
        float[] logits = new float[size * size];
        for (int i = 0; i < count; i++)
        {
            for (int cell = 0; cell < logits.Length; cell++)
            {
                logits[cell] = reader.ReadSingle();
            }

            HeatmapPeak peak = HeatmapDecoder.Decode(logits, size, Cell, 0);
            Assert.Equal(reader.ReadSingle(), peak.X, 0.01);
            Assert.Equal(reader.ReadSingle(), peak.Y, 0.01);
        }

        Assert.Equal(reader.BaseStream.Length, reader.BaseStream.Position);
    }

    [Fact]
    public void Map_without_a_finite_largest_logit_is_refused()
    {
        float[] logits = new float[Size * Size];
        Array.Fill(logits, float.NaN);
        Assert.Throws<ArgumentException>(() => HeatmapDecoder.Decode(logits, Size, Cell, 0));
        logits[7] = float.PositiveInfinity;
        Assert.Throws<ArgumentException>(() => HeatmapDecoder.Decode(logits, Size, Cell, 0));
        Assert.Throws<ArgumentException>(() => HeatmapDecoder.Decode(logits.AsSpan(1), Size, Cell, 0));
    }

    [Fact]
    public void Vector_maximum_is_the_scalar_one_at_each_length()
    {
        var random = new Random(5);
        for (int length = 0; length <= 67; length++)
        {
            float[] values = new float[length];
            for (int i = 0; i < length; i++)
            {
                values[i] = random.Next(-4, 4); // with ties
            }

            if (length > 2)
            {
                values[random.Next(length)] = float.NaN;
            }

            Assert.Equal(HeatmapDecoder.IndexOfMaxScalar(values), HeatmapDecoder.IndexOfMax(values));
        }
    }

    /// <summary>Logits of a Gaussian about an input pixel, with its standard deviations in cells.</summary>
    private static float[] Blob(double x, double y, double sigmaX, double sigmaY)
    {
        float[] logits = new float[Size * Size];
        for (int j = 0; j < Size; j++)
        {
            for (int i = 0; i < Size; i++)
            {
                double dx = (i + 0.5 - (x / Cell)) / sigmaX, dy = (j + 0.5 - (y / Cell)) / sigmaY;
                logits[(j * Size) + i] = (float)(-0.5 * ((dx * dx) + (dy * dy)));
            }
        }

        return logits;
    }
}
