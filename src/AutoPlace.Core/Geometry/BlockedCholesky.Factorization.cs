using System.Diagnostics;
using System.Runtime.CompilerServices;
using System.Runtime.InteropServices;
using System.Runtime.Intrinsics;

namespace AutoPlace.Geometry;

public sealed partial class BlockedCholesky
{
    /// <summary>
    /// Right-looking: a panel of <see cref="PanelWidth"/> columns is factored, then its product is taken off everything
    /// to its right. The panel is kept a second time as strips of eight rows, transposed, so that eight rows of the
    /// result lie side by side in one vector; each lane sums over the panel's columns in order.
    /// </summary>
    private sealed class Factorization(SymmetricMatrix matrix, int parallelRows)
    {
        private const int Strip = SymmetricMatrix.Block;
        private const int PanelWidth = 64;

        /// <summary>A pivot under this share of its diagonal element is rounding error and carries no digits.</summary>
        private const double PivotTolerance = 1e-14;

        /// <summary>Strips of one task.</summary>
        private const int TaskStrips = 4;

        private readonly double[] _a = matrix.Elements;
        private readonly int _n = matrix.Stride;
        private readonly double[] _panel = new double[matrix.Stride * PanelWidth];
        private readonly double[] _smallestPivot = new double[matrix.Stride];

        public bool Run()
        {
            for (int i = 0; i < _n; i++)
            {
                _smallestPivot[i] = PivotTolerance * _a[(i * _n) + i];
            }

            for (int start = 0; start < _n; start += PanelWidth)
            {
                int width = Math.Min(PanelWidth, _n - start);
                if (!FactorDiagonal(start, width))
                {
                    return false;
                }

                int firstStrip = (start + width) / Strip, strips = (_n / Strip) - firstStrip;
                ForStrips(strips, strip => SolveStrip(start, width, firstStrip + strip));
                ForStrips(strips, strip => UpdateStrip(start + width, width, firstStrip, strip));
            }

            return true;
        }

        private void ForStrips(int strips, Action<int> body)
        {
            if (strips * Strip < parallelRows)
            {
                for (int strip = 0; strip < strips; strip++)
                {
                    body(strip);
                }

                return;
            }

            Parallel.For(0, (strips + TaskStrips - 1) / TaskStrips, task =>
            {
                int end = Math.Min(strips, (task + 1) * TaskStrips);
                for (int strip = task * TaskStrips; strip < end; strip++)
                {
                    body(strip);
                }
            });
        }

        /// <summary>Factors the square on the diagonal; false when a pivot isn't positive.</summary>
        private bool FactorDiagonal(int start, int width)
        {
            for (int i = start; i < start + width; i++)
            {
                Span<double> row = _a.AsSpan((i * _n) + start, width);
                for (int j = start; j < i; j++)
                {
                    ReadOnlySpan<double> other = _a.AsSpan((j * _n) + start, width);
                    double sum = row[j - start];
                    for (int k = 0; k < j - start; k++)
                    {
                        sum = Math.FusedMultiplyAdd(-row[k], other[k], sum);
                    }

                    row[j - start] = sum / other[j - start];
                }

                double pivot = row[i - start];
                for (int k = 0; k < i - start; k++)
                {
                    pivot = Math.FusedMultiplyAdd(-row[k], row[k], pivot);
                }

                if (!(pivot > _smallestPivot[i]) || !double.IsFinite(pivot))
                {
                    return false;
                }

                row[i - start] = Math.Sqrt(pivot);
            }

            return true;
        }

        /// <summary>Forward substitution for eight rows below the diagonal square, one row in each lane.</summary>
        private void SolveStrip(int start, int width, int strip)
        {
            Span<double> x = _panel.AsSpan(strip * Strip * PanelWidth, width * Strip);
            for (int lane = 0; lane < Strip; lane++)
            {
                ReadOnlySpan<double> row = _a.AsSpan((((strip * Strip) + lane) * _n) + start, width);
                for (int k = 0; k < width; k++)
                {
                    x[(k * Strip) + lane] = row[k];
                }
            }

            // Two columns at a time: four sums that don't wait for each other. Widths are whole strips, so even.
            for (int j = 0; j < width; j += 2)
            {
                ReadOnlySpan<double> first = _a.AsSpan(((start + j) * _n) + start, j + 1);
                ReadOnlySpan<double> second = _a.AsSpan(((start + j + 1) * _n) + start, j + 2);
                Span<double> target = x.Slice(j * Strip, 2 * Strip);
                Vector256<double> low1 = Vector256.Create<double>(target[..4]), high1 = Vector256.Create<double>(target[4..8]);
                Vector256<double> low2 = Vector256.Create<double>(target[8..12]), high2 = Vector256.Create<double>(target[12..]);
                for (int k = 0; k < j; k++)
                {
                    Vector256<double> low = -Vector256.Create<double>(x.Slice(k * Strip, 4));
                    Vector256<double> high = -Vector256.Create<double>(x.Slice((k * Strip) + 4, 4));
                    Vector256<double> f1 = Vector256.Create(first[k]), f2 = Vector256.Create(second[k]);
                    (low1, high1) = (Vector256.FusedMultiplyAdd(f1, low, low1), Vector256.FusedMultiplyAdd(f1, high, high1));
                    (low2, high2) = (Vector256.FusedMultiplyAdd(f2, low, low2), Vector256.FusedMultiplyAdd(f2, high, high2));
                }

                (low1, high1) = (low1 / first[j], high1 / first[j]);
                Vector256<double> between = Vector256.Create(-second[j]);
                low2 = Vector256.FusedMultiplyAdd(between, low1, low2) / second[j + 1];
                high2 = Vector256.FusedMultiplyAdd(between, high1, high2) / second[j + 1];
                low1.CopyTo(target[..4]);
                high1.CopyTo(target[4..8]);
                low2.CopyTo(target[8..12]);
                high2.CopyTo(target[12..]);
            }

            for (int lane = 0; lane < Strip; lane++)
            {
                Span<double> row = _a.AsSpan((((strip * Strip) + lane) * _n) + start, width);
                for (int k = 0; k < width; k++)
                {
                    row[k] = x[(k * Strip) + lane];
                }
            }
        }

        /// <summary>
        /// Takes the panel's product off eight rows, up to and with their diagonal square (of which the part above the
        /// diagonal receives values that nothing reads).
        /// </summary>
        private void UpdateStrip(int start, int width, int firstStrip, int strip)
        {
            ReadOnlySpan<double> rows = _panel.AsSpan((firstStrip + strip) * Strip * PanelWidth, width * Strip);
            for (int other = 0; other <= strip; other++)
            {
                ReadOnlySpan<double> columns = _panel.AsSpan((firstStrip + other) * Strip * PanelWidth, width * Strip);
                Span<double> target = _a.AsSpan(((start + (strip * Strip)) * _n) + start + (other * Strip));
                SubtractProduct(rows, columns, width, target, _n);
            }
        }
    }

    /// <summary>
    /// Takes <c>R^T C</c> off an 8 x 8 tile, where R and C are <paramref name="depth"/> x 8, row by row. Each element is
    /// summed over the depth in order, with one rounding a step.
    /// </summary>
    internal static void SubtractProduct(
        ReadOnlySpan<double> rows, ReadOnlySpan<double> columns, int depth, Span<double> target, int stride)
    {
        Debug.Assert(rows.Length >= 8 * depth && columns.Length >= 8 * depth && target.Length >= (7 * stride) + 8);
        if (Vector512.IsHardwareAccelerated)
        {
            SubtractProduct512(rows, columns, depth, target, stride);
        }
        else if (Vector256.IsHardwareAccelerated)
        {
            SubtractProduct256(rows, columns, depth, target, stride);
        }
        else
        {
            SubtractProductScalar(rows, columns, depth, target, stride);
        }
    }

    /// <summary>Scalar twin of <see cref="SubtractProduct"/>; the same to the last bit.</summary>
    internal static void SubtractProductScalar(
        ReadOnlySpan<double> rows, ReadOnlySpan<double> columns, int depth, Span<double> target, int stride)
    {
        for (int i = 0; i < 8; i++)
        {
            for (int j = 0; j < 8; j++)
            {
                double sum = target[(i * stride) + j];
                for (int k = 0; k < depth; k++)
                {
                    sum = Math.FusedMultiplyAdd(-rows[(8 * k) + i], columns[(8 * k) + j], sum);
                }

                target[(i * stride) + j] = sum;
            }
        }
    }

    /// <summary>Four rows at a time: eight sums of four lanes hide the latency and leave registers for the operands.</summary>
    internal static void SubtractProduct256(
        ReadOnlySpan<double> rows, ReadOnlySpan<double> columns, int depth, Span<double> target, int stride)
    {
        for (int half = 0; half < 8; half += 4)
        {
            ref double r = ref Unsafe.Add(ref MemoryMarshal.GetReference(rows), half);
            ref double c = ref MemoryMarshal.GetReference(columns);
            ref double t = ref Unsafe.Add(ref MemoryMarshal.GetReference(target), half * stride);
            Vector256<double> a0 = Vector256.LoadUnsafe(ref t), a1 = Vector256.LoadUnsafe(ref t, 4);
            Vector256<double> b0 = Vector256.LoadUnsafe(ref t, (nuint)stride), b1 = Vector256.LoadUnsafe(ref t, (nuint)stride + 4);
            Vector256<double> c0 = Vector256.LoadUnsafe(ref t, (nuint)(2 * stride)), c1 = Vector256.LoadUnsafe(ref t, (nuint)(2 * stride) + 4);
            Vector256<double> d0 = Vector256.LoadUnsafe(ref t, (nuint)(3 * stride)), d1 = Vector256.LoadUnsafe(ref t, (nuint)(3 * stride) + 4);
            for (int k = 0; k < depth; k++)
            {
                Vector256<double> low = -Vector256.LoadUnsafe(ref c), high = -Vector256.LoadUnsafe(ref c, 4);
                Vector256<double> s = Vector256.Create(r);
                (a0, a1) = (Vector256.FusedMultiplyAdd(s, low, a0), Vector256.FusedMultiplyAdd(s, high, a1));
                s = Vector256.Create(Unsafe.Add(ref r, 1));
                (b0, b1) = (Vector256.FusedMultiplyAdd(s, low, b0), Vector256.FusedMultiplyAdd(s, high, b1));
                s = Vector256.Create(Unsafe.Add(ref r, 2));
                (c0, c1) = (Vector256.FusedMultiplyAdd(s, low, c0), Vector256.FusedMultiplyAdd(s, high, c1));
                s = Vector256.Create(Unsafe.Add(ref r, 3));
                (d0, d1) = (Vector256.FusedMultiplyAdd(s, low, d0), Vector256.FusedMultiplyAdd(s, high, d1));
                r = ref Unsafe.Add(ref r, 8);
                c = ref Unsafe.Add(ref c, 8);
            }

            a0.StoreUnsafe(ref t);
            a1.StoreUnsafe(ref t, 4);
            b0.StoreUnsafe(ref t, (nuint)stride);
            b1.StoreUnsafe(ref t, (nuint)stride + 4);
            c0.StoreUnsafe(ref t, (nuint)(2 * stride));
            c1.StoreUnsafe(ref t, (nuint)(2 * stride) + 4);
            d0.StoreUnsafe(ref t, (nuint)(3 * stride));
            d1.StoreUnsafe(ref t, (nuint)(3 * stride) + 4);
        }
    }

    /// <summary>All eight rows at once, one vector of eight lanes for each.</summary>
    internal static void SubtractProduct512(
        ReadOnlySpan<double> rows, ReadOnlySpan<double> columns, int depth, Span<double> target, int stride)
    {
        ref double r = ref MemoryMarshal.GetReference(rows);
        ref double c = ref MemoryMarshal.GetReference(columns);
        ref double t = ref MemoryMarshal.GetReference(target);
        nuint step = (nuint)stride;
        Vector512<double> s0 = Vector512.LoadUnsafe(ref t), s1 = Vector512.LoadUnsafe(ref t, step);
        Vector512<double> s2 = Vector512.LoadUnsafe(ref t, 2 * step), s3 = Vector512.LoadUnsafe(ref t, 3 * step);
        Vector512<double> s4 = Vector512.LoadUnsafe(ref t, 4 * step), s5 = Vector512.LoadUnsafe(ref t, 5 * step);
        Vector512<double> s6 = Vector512.LoadUnsafe(ref t, 6 * step), s7 = Vector512.LoadUnsafe(ref t, 7 * step);
        for (int k = 0; k < depth; k++)
        {
            Vector512<double> column = -Vector512.LoadUnsafe(ref c);
            s0 = Vector512.FusedMultiplyAdd(Vector512.Create(r), column, s0);
            s1 = Vector512.FusedMultiplyAdd(Vector512.Create(Unsafe.Add(ref r, 1)), column, s1);
            s2 = Vector512.FusedMultiplyAdd(Vector512.Create(Unsafe.Add(ref r, 2)), column, s2);
            s3 = Vector512.FusedMultiplyAdd(Vector512.Create(Unsafe.Add(ref r, 3)), column, s3);
            s4 = Vector512.FusedMultiplyAdd(Vector512.Create(Unsafe.Add(ref r, 4)), column, s4);
            s5 = Vector512.FusedMultiplyAdd(Vector512.Create(Unsafe.Add(ref r, 5)), column, s5);
            s6 = Vector512.FusedMultiplyAdd(Vector512.Create(Unsafe.Add(ref r, 6)), column, s6);
            s7 = Vector512.FusedMultiplyAdd(Vector512.Create(Unsafe.Add(ref r, 7)), column, s7);
            r = ref Unsafe.Add(ref r, 8);
            c = ref Unsafe.Add(ref c, 8);
        }

        s0.StoreUnsafe(ref t);
        s1.StoreUnsafe(ref t, step);
        s2.StoreUnsafe(ref t, 2 * step);
        s3.StoreUnsafe(ref t, 3 * step);
        s4.StoreUnsafe(ref t, 4 * step);
        s5.StoreUnsafe(ref t, 5 * step);
        s6.StoreUnsafe(ref t, 6 * step);
        s7.StoreUnsafe(ref t, 7 * step);
    }
}
