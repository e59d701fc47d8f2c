namespace AutoPlace.Geometry;

/// <summary>
/// A sparse symmetric matrix: the elements of the lower triangle, column by column, rows rising. Doesn't change.
/// </summary>
public sealed class SparseSymmetricMatrix
{
    private readonly int[] _starts;
    private readonly int[] _rows;
    private readonly double[] _values;

    private SparseSymmetricMatrix(int[] starts, int[] rows, double[] values)
    {
        _starts = starts;
        _rows = rows;
        _values = values;
    }

    /// <summary>Number of rows and columns.</summary>
    public int Order => _starts.Length - 1;

    /// <summary>n + 1 offsets of the columns.</summary>
    public ReadOnlySpan<int> ColumnStarts => _starts;

    /// <summary>Rows of the elements, rising within a column, none above the diagonal.</summary>
    public ReadOnlySpan<int> Rows => _rows;

    /// <summary>Values of the elements.</summary>
    public ReadOnlySpan<double> Values => _values;

    /// <summary>
    /// Collects elements. Each (row, column) pair names the element and its mirror image at once; values of the same
    /// element add up in the order given. Elements that come out as zero stay in the pattern.
    /// </summary>
    /// <param name="order">Number of rows and columns.</param>
    /// <param name="elements">Elements on either side of the diagonal.</param>
    /// <exception cref="ArgumentException">An index outside [0, n) or a value that isn't finite; the message names the element.</exception>
    public static SparseSymmetricMatrix FromElements(int order, ReadOnlySpan<(int Row, int Column, double Value)> elements)
    {
        ArgumentOutOfRangeException.ThrowIfNegative(order);
        var starts = new int[order + 1];
        foreach ((int row, int column, double value) in elements)
        {
            if ((uint)row >= (uint)order || (uint)column >= (uint)order || !double.IsFinite(value))
            {
                throw new ArgumentException($"element ({row}, {column}): {value} in a matrix of order {order}", nameof(elements));
            }

            starts[Math.Min(row, column) + 1]++;
        }

        for (int c = 0; c < order; c++)
        {
            starts[c + 1] += starts[c];
        }

        var byColumn = new (int Row, int Sequence, double Value)[elements.Length];
        int[] next = starts.AsSpan(0, order).ToArray();
        for (int k = 0; k < elements.Length; k++)
        {
            (int row, int column, double value) = elements[k];
            byColumn[next[Math.Min(row, column)]++] = (Math.Max(row, column), k, value);
        }

        return Merge(order, starts, byColumn);
    }

    /// <summary>The product with a vector: <c>result = A x</c>.</summary>
    /// <param name="vector">n elements.</param>
    /// <param name="result">Receives n elements; must not be the same memory.</param>
    /// <exception cref="ArgumentException">Another length than n.</exception>
    public void Multiply(ReadOnlySpan<double> vector, Span<double> result)
    {
        if (vector.Length != Order || result.Length != Order)
        {
            throw new ArgumentException($"{vector.Length} and {result.Length} elements for order {Order}.", nameof(vector));
        }

        result.Clear();
        for (int c = 0; c < Order; c++)
        {
            for (int k = _starts[c]; k < _starts[c + 1]; k++)
            {
                int r = _rows[k];
                result[r] += _values[k] * vector[c];
                if (r != c)
                {
                    result[c] += _values[k] * vector[r];
                }
            }
        }
    }

    /// <summary>True when the other matrix has the same elements, whatever their values.</summary>
    internal bool HasPatternOf(SparseSymmetricMatrix other) =>
        _starts.AsSpan().SequenceEqual(other._starts) && _rows.AsSpan().SequenceEqual(other._rows);

    private static SparseSymmetricMatrix Merge(int order, int[] starts, (int Row, int Sequence, double Value)[] byColumn)
    {
        var mergedStarts = new int[order + 1];
        var rows = new List<int>(byColumn.Length);
        var values = new List<double>(byColumn.Length);
        for (int c = 0; c < order; c++)
        {
            Span<(int Row, int Sequence, double Value)> column = byColumn.AsSpan(starts[c]..starts[c + 1]);
            column.Sort((a, b) => a.Row != b.Row ? a.Row.CompareTo(b.Row) : a.Sequence.CompareTo(b.Sequence));
            int last = -1;
            foreach ((int row, _, double value) in column)
            {
                if (row == last)
                {
                    values[^1] += value;
                }
                else
                {
                    rows.Add(row);
                    values.Add(value);
                    last = row;
                }
            }

            mergedStarts[c + 1] = rows.Count;
        }

        return new SparseSymmetricMatrix(mergedStarts, rows.ToArray(), values.ToArray());
    }
}
