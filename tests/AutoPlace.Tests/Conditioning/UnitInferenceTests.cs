using AutoPlace.Conditioning;
using Xunit;

namespace AutoPlace.Tests.Conditioning;

public sealed class UnitInferenceTests
{
    // Mean adult interocular distance 63 mm: Dodgson 2004, Proc. SPIE 5291:36-46.
    [Theory]
    [InlineData(0.063, 1)]
    [InlineData(6.3, 0.01)]
    [InlineData(63, 0.001)]
    [InlineData(0.63, 0.1)]
    [InlineData(2.48, 0.0254)]
    public void Adult_in_each_unit_is_recognised(double interocular, double metresPerUnit)
    {
        IReadOnlyList<UnitGuess> guesses = UnitInference.Infer(interocular);
        Assert.Equal(metresPerUnit, guesses[0].MetresPerUnit);
        Assert.Equal(1, guesses.Sum(g => g.Probability), 1e-12);
    }

    [Fact]
    public void Distance_between_two_units_leaves_doubt()
    {
        Assert.InRange(UnitInference.Infer(Math.Sqrt(6.3 * 2.48))[0].Probability, 0.3, 0.9);
    }
}
