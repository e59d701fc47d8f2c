namespace AutoPlace.Geometry;

/// <summary>
/// What a factor <c>P A P^T = L D L^T</c> needs to know of the pattern of A alone: the order of elimination and the
/// pattern of L. Made once for a template's mesh, used for any values.
/// </summary>
public sealed class SparseCholeskyAnalysis
{
    private readonly int[] _place;

    /// <summary>Orders the matrix by approximate minimum degree and finds the factor's pattern.</summary>
    /// <param name="matrix">The pattern; values don't matter.</param>
    public SparseCholeskyAnalysis(SparseSymmetricMatrix matrix)
    {
        ArgumentNullException.ThrowIfNull(matrix);
        Pattern = matrix;
        int n = matrix.Order;
        Sequence = MinimumDegreeOrdering.Order(matrix);
        _place = new int[n];
        for (int k = 0; k < n; k++)
        {
            _place[Sequence[k]] = k;
        }

        (RowStarts, RowColumns, RowElements) = Permute();
        Parent = EliminationTree();
        ColumnStarts = CountColumns();
    }

    /// <summary>Number of rows and columns.</summary>
    public int Order => Sequence.Length;

    /// <summary>Number of elements of L below its diagonal.</summary>
    public int FactorElements => ColumnStarts[^1];

    /// <summary>The matrix that was analysed.</summary>
    internal SparseSymmetricMatrix Pattern { get; }

    /// <summary>The variable eliminated at each step.</summary>
    internal int[] Sequence { get; }

    /// <summary>For each step the first later step that its column of L touches, or -1.</summary>
    internal int[] Parent { get; }

    /// <summary>n + 1 offsets of L's columns.</summary>
    internal int[] ColumnStarts { get; }

    /// <summary>Elements left of the diagonal, row by row of the permuted matrix: offsets.</summary>
    internal int[] RowStarts { get; }

    /// <summary>Their columns.</summary>
    internal int[] RowColumns { get; }

    /// <summary>Their places among the matrix's own elements.</summary>
    internal int[] RowElements { get; }

    /// <summary>The numeric factor, for values on the analysed pattern.</summary>
    /// <param name="matrix">A matrix with the same elements as the analysed one, positive definite.</param>
    /// <returns>The factor, or null when the matrix isn't positive definite to working precision.</returns>
    /// <exception cref="ArgumentException">Another pattern than the analysed one.</exception>
    public SparseCholesky? TryFactor(SparseSymmetricMatrix matrix)
    {
        ArgumentNullException.ThrowIfNull(matrix);
        if (!ReferenceEquals(matrix, Pattern) && !matrix.HasPatternOf(Pattern))
        {
            throw new ArgumentException("The matrix has other elements than the analysed one.", nameof(matrix));
        }

        return SparseCholesky.Factor(this, matrix);
    }

    /// <summary>
    /// The row pattern of L: the nodes of the elimination tree on the paths from the row's own columns towards the root,
    /// stopping at the row itself (Davis 2006, Direct Methods for Sparse Linear Systems, section 4.2; from memory).
    /// </summary>
    /// <param name="row">The row.</param>
    /// <param name="mark">Scratch, n elements; nodes already on a path carry the row's number.</param>
    /// <param name="stack">Receives the pattern, in an order fit for substitution, at its end.</param>
    /// <returns>Where the pattern begins.</returns>
    internal int RowPattern(int row, int[] mark, int[] stack)
    {
        int top = stack.Length;
        mark[row] = row;
        for (int k = RowStarts[row]; k < RowStarts[row + 1]; k++)
        {
            int length = 0;
            for (int j = RowColumns[k]; mark[j] != row; j = Parent[j])
            {
                stack[length++] = j;
                mark[j] = row;
            }

            while (length > 0)
            {
                stack[--top] = stack[--length];
            }
        }

        return top;
    }

    private (int[] RowStarts, int[] RowColumns, int[] RowElements) Permute()
    {
        int n = Order;
        ReadOnlySpan<int> starts = Pattern.ColumnStarts, rows = Pattern.Rows;
        var rowStarts = new int[n + 1];
        for (int c = 0; c < n; c++)
        {
            foreach (int r in rows[starts[c]..starts[c + 1]])
            {
                if (r != c)
                {
                    rowStarts[Math.Max(_place[r], _place[c]) + 1]++;
                }
            }
        }

        for (int r = 0; r < n; r++)
        {
            rowStarts[r + 1] += rowStarts[r];
        }

        var columns = new int[rowStarts[n]];
        var elements = new int[columns.Length];
        int[] next = rowStarts.AsSpan(0, n).ToArray();
        for (int c = 0; c < n; c++)
        {
            for (int k = starts[c]; k < starts[c + 1]; k++)
            {
                if (rows[k] != c)
                {
                    int slot = next[Math.Max(_place[rows[k]], _place[c])]++;
                    (columns[slot], elements[slot]) = (Math.Min(_place[rows[k]], _place[c]), k);
                }
            }
        }

        return (rowStarts, columns, elements);
    }

    /// <summary>Liu's algorithm: ancestors are compressed towards the root as rows are added.</summary>
    private int[] EliminationTree()
    {
        var parent = new int[Order];
        var ancestor = new int[Order];
        for (int row = 0; row < Order; row++)
        {
            (parent[row], ancestor[row]) = (-1, -1);
            for (int k = RowStarts[row]; k < RowStarts[row + 1]; k++)
            {
                int j = RowColumns[k];
                while (j >= 0 && j < row)
                {
                    int next = ancestor[j];
                    ancestor[j] = row;
                    if (next < 0)
                    {
                        parent[j] = row;
                    }

                    j = next;
                }
            }
        }

        return parent;
    }

    private int[] CountColumns()
    {
        int n = Order;
        var starts = new int[n + 1];
        int[] mark = new int[n], stack = new int[n];
        Array.Fill(mark, -1);
        for (int row = 0; row < n; row++)
        {
            int top = RowPattern(row, mark, stack);
            for (int k = top; k < n; k++)
            {
                starts[stack[k] + 1]++;
            }
        }

        for (int c = 0; c < n; c++)
        {
            starts[c + 1] += starts[c];
        }

        return starts;
    }
}
