namespace AutoPlace.Geometry;

/// <summary>Spreads the bits of a number, so that sums of such numbers tell sets apart.</summary>
internal static class BitMixing
{
    /// <summary>The finalizer of SplitMix64 (Steele, Lea and Flood 2014, "Fast splittable pseudorandom number generators"; from memory).</summary>
    public static ulong Mixed(ulong z)
    {
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EB;
        return z ^ (z >> 31);
    }
}
