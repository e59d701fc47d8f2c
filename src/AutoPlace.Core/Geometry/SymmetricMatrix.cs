namespace AutoPlace.Geometry;

/// <summary>
/// A dense symmetric matrix of doubles, of which the lower triangle counts. Rows are padded to whole blocks of
/// <see cref="Block"/>, so that kernels need no remainder.
/// </summary>
public sealed class SymmetricMatrix
{
    /// <summary>Rows and columns are padded to a multiple of this.</summary>
    internal const int Block = 8;

    /// <summary>A zero matrix.</summary>
    /// <param name="order">Number of rows and columns, not negative.</param>
    public SymmetricMatrix(int order)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(order);
        Order = order;
        Stride = (order + Block - 1) / Block * Block;
        Elements = new double[checked(Stride * Stride)];
        for (int i = order; i < Stride; i++)
        {
            Elements[(i * Stride) + i] = 1;
        }
    }

    /// <summary>Number of rows and columns.</summary>
    public int Order { get; }

    /// <summary>Elements between the start of one row and the next.</summary>
    internal int Stride { get; }

    /// <summary>Stride x Stride elements, row by row; the padding's diagonal is 1.</summary>
    internal double[] Elements { get; }

    /// <summary>The elements 0 to <paramref name="row"/> of a row, up to and with the diagonal.</summary>
    /// <param name="row">Row, from 0.</param>
    public Span<double> Row(int row)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(row);
        ArgumentOutOfRangeException.ThrowIfGreaterThanOrEqual(row, Order);
        return Elements.AsSpan(row * Stride, row + 1);
    }
}
