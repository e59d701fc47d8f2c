using System.Numerics;

namespace AutoPlace.TrainingData.Sampling;

/// <summary>A sum of smooth displacements of limited reach.</summary>
internal static class BumpField
{
    /// <summary>Moves every position by the sum of all bumps there, each taken where the position was before.</summary>
    /// <param name="positions">Positions; moved in place.</param>
    /// <param name="bumps">The bumps, in the positions' unit.</param>
    public static void Apply(Span<Vector3> positions, ReadOnlySpan<Bump> bumps)
    {
        const int Block = 64;
        int lanes = Vector<float>.Count;
        Span<float> x = stackalloc float[Block], y = stackalloc float[Block], z = stackalloc float[Block];
        for (int start = 0; start < positions.Length; start += Block)
        {
            Span<Vector3> block = positions.Slice(start, Math.Min(Block, positions.Length - start));
            for (int i = 0; i < block.Length; i++)
            {
                (x[i], y[i], z[i]) = (block[i].X, block[i].Y, block[i].Z);
            }

            for (int i = 0; i < block.Length; i += lanes)
            {
                Vector<float> px = new(x[i..]), py = new(y[i..]), pz = new(z[i..]);
                Vector<float> sumX = px, sumY = py, sumZ = pz;
                foreach (Bump bump in bumps)
                {
                    Vector<float> dx = px - new Vector<float>(bump.Centre.X), dy = py - new Vector<float>(bump.Centre.Y), dz = pz - new Vector<float>(bump.Centre.Z);
                    Vector<float> rest = Vector<float>.One - (((dx * dx) + (dy * dy) + (dz * dz)) * bump.InverseSquare);
                    rest = Vector.Max(rest, Vector<float>.Zero);
                    Vector<float> weight = rest * rest;
                    sumX += weight * bump.Shift.X;
                    sumY += weight * bump.Shift.Y;
                    sumZ += weight * bump.Shift.Z;
                }

                sumX.CopyTo(x[i..]);
                sumY.CopyTo(y[i..]);
                sumZ.CopyTo(z[i..]);
            }

            for (int i = 0; i < block.Length; i++)
            {
                block[i] = new Vector3(x[i], y[i], z[i]);
            }
        }
    }

    /// <summary>A displacement that fades as (1 - d^2/R^2)^2.</summary>
    /// <param name="Centre">Where it is full.</param>
    /// <param name="Shift">The displacement there.</param>
    /// <param name="Radius">Where it has faded.</param>
    internal readonly record struct Bump(Vector3 Centre, Vector3 Shift, float Radius)
    {
        /// <summary>1 / R^2.</summary>
        public float InverseSquare { get; } = 1 / (Radius * Radius);
    }
}
