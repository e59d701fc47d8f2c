using AutoPlace.Landmarks;
using Xunit;

namespace AutoPlace.Tests.Landmarks;

public sealed class ChannelSoftmaxTests
{
    [Fact]
    public void Vector_and_scalar_agree_at_each_length_and_sum_to_one()
    {
        var random = new Random(11);
        for (int cells = 0; cells <= 67; cells++)
        {
            const int planes = 6;
            float[] logits = new float[planes * cells];
            for (int i = 0; i < logits.Length; i++)
            {
                logits[i] = (float)((random.NextDouble() * 60) - 30);
            }

            float[] wide = new float[logits.Length], scalar = new float[logits.Length];
            ChannelSoftmax.Apply(logits, planes, wide);
            ChannelSoftmax.ApplyScalar(logits, planes, scalar);
            for (int cell = 0; cell < cells; cell++)
            {
                double sum = 0;
                for (int p = 0; p < planes; p++)
                {
                    float found = wide[(p * cells) + cell];
                    Assert.Equal(scalar[(p * cells) + cell], found, 1e-6f);
                    sum += found;
                }

                Assert.Equal(1, sum, 1e-5);
            }
        }
    }

    [Fact]
    public void Own_memory_may_receive_the_result()
    {
        float[] values = [0, 0, 0, 0, MathF.Log(3), MathF.Log(3), MathF.Log(3), MathF.Log(3)];
        ChannelSoftmax.Apply(values, 2, values);
        Assert.All(values[..4], v => Assert.Equal(0.25f, v, 1e-6f));
        Assert.All(values[4..], v => Assert.Equal(0.75f, v, 1e-6f));
    }
}
