using System.Numerics;

namespace AutoPlace.Landmarks;

/// <summary>Probabilities from logits that are stored plane by plane.</summary>
internal static class ChannelSoftmax
{
    /// <summary>Softmax over the planes, for each cell by itself.</summary>
    /// <param name="logits">planes x cells logits, plane by plane.</param>
    /// <param name="planes">Number of planes, at least 1.</param>
    /// <param name="probabilities">Receives as many probabilities; may be the logits' own memory.</param>
    /// <exception cref="ArgumentException">The lengths differ or are no multiple of the number of planes.</exception>
    public static void Apply(ReadOnlySpan<float> logits, int planes, Span<float> probabilities)
    {
        int cells = CheckedCells(logits, planes, probabilities);
        int width = Vector<float>.Count, cell = 0;
        for (; cell <= cells - width; cell += width)
        {
            var largest = new Vector<float>(logits[cell..]);
            for (int p = 1; p < planes; p++)
            {
                largest = Vector.Max(largest, new Vector<float>(logits[((p * cells) + cell)..]));
            }

            Vector<float> sum = Vector<float>.Zero;
            for (int p = 0; p < planes; p++)
            {
                int at = (p * cells) + cell;
                Vector<float> e = Vector.Exp(new Vector<float>(logits[at..]) - largest);
                e.CopyTo(probabilities[at..]);
                sum += e;
            }

            for (int p = 0; p < planes; p++)
            {
                int at = (p * cells) + cell;
                (new Vector<float>(probabilities[at..]) / sum).CopyTo(probabilities[at..]);
            }
        }

        ApplyScalar(logits, planes, probabilities, cell);
    }

    /// <summary>The same, one cell at a time, from a cell on.</summary>
    internal static void ApplyScalar(ReadOnlySpan<float> logits, int planes, Span<float> probabilities, int firstCell = 0)
    {
        int cells = CheckedCells(logits, planes, probabilities);
        for (int cell = firstCell; cell < cells; cell++)
        {
            float largest = logits[cell];
            for (int p = 1; p < planes; p++)
            {
                largest = MathF.Max(largest, logits[(p * cells) + cell]);
            }

            float sum = 0;
            for (int p = 0; p < planes; p++)
            {
                int at = (p * cells) + cell;
                probabilities[at] = MathF.Exp(logits[at] - largest);
                sum += probabilities[at];
            }

            for (int p = 0; p < planes; p++)
            {
                probabilities[(p * cells) + cell] /= sum;
            }
        }
    }

    private static int CheckedCells(ReadOnlySpan<float> logits, int planes, Span<float> probabilities)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(planes, 1);
        return logits.Length == probabilities.Length && logits.Length % planes == 0
            ? logits.Length / planes
            : throw new ArgumentException($"{logits.Length} logits, {probabilities.Length} probabilities, {planes} planes.", nameof(probabilities));
    }
}
