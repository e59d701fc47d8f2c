using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>Which regions of the skin have a material of their own: lips, brows, a line for the mouth.</summary>
internal sealed class PaintedMaterials
{
    private readonly bool _lips;
    private readonly float _browHalfWidth;
    private readonly float _mouthLineHalfWidth;

    /// <summary>Draws a grouping.</summary>
    /// <param name="random">The head's stream.</param>
    /// <param name="kind">Kind of the head.</param>
    /// <param name="paintMouth">The mouth isn't modelled and has to be painted.</param>
    public PaintedMaterials(SeededRandom random, HeadKind kind, bool paintMouth)
    {
        _lips = random.Chance(0.4f);
        bool brows = random.Chance(kind == HeadKind.Stylised ? 0.5f : 0.25f), line = random.Chance(0.7f);
        float browWidth = random.LogUniform(0.2f, 0.7f), lineWidth = random.LogUniform(0.15f, 0.4f);
        _browHalfWidth = brows ? browWidth : 0;
        _mouthLineHalfWidth = paintMouth && line ? lineWidth : 0;
        _lips |= paintMouth && !line;
    }

    /// <summary>Material of a skin triangle, by its corners.</summary>
    public Material Of(HeadRegions regions, int a, int b, int c)
    {
        if (Mean(regions.BrowDistance, a, b, c) < _browHalfWidth)
        {
            return Material.Brows;
        }

        bool lips = (_lips && regions.InLips[a] && regions.InLips[b] && regions.InLips[c])
            || Mean(regions.MouthDistance, a, b, c) < _mouthLineHalfWidth;
        return lips ? Material.Lips : Material.Skin;
    }

    private static float Mean(float[] values, int a, int b, int c) => (values[a] + values[b] + values[c]) / 3;
}
