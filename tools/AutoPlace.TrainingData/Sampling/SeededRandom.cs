namespace AutoPlace.TrainingData.Sampling;

/// <summary>
/// Random numbers that depend on a seed alone, the same on every machine: xoshiro256** (Blackman and Vigna 2018)
/// seeded through SplitMix64 (Steele, Lea and Flood 2014).
/// </summary>
internal sealed class SeededRandom
{
    private ulong _a;
    private ulong _b;
    private ulong _c;
    private ulong _d;

    /// <summary>A stream for one item of a seed.</summary>
    /// <param name="seed">Seed of the whole run.</param>
    /// <param name="stream">Separates training from held-out items.</param>
    /// <param name="item">Number of the item.</param>
    public SeededRandom(ulong seed, ulong stream, ulong item)
    {
        ulong state = Mix(Mix(Mix(seed) ^ stream) ^ item);
        _a = Mix(state += 0x9E3779B97F4A7C15UL);
        _b = Mix(state += 0x9E3779B97F4A7C15UL);
        _c = Mix(state += 0x9E3779B97F4A7C15UL);
        _d = Mix(state + 0x9E3779B97F4A7C15UL);
    }

    /// <summary>Uniform in [0, 1).</summary>
    public float Unit() => (Next() >> 40) * (1f / (1 << 24));

    /// <summary>Uniform in [from, to).</summary>
    public float Uniform(float from, float to) => from + (Unit() * (to - from));

    /// <summary>Log-uniform in [from, to), both positive.</summary>
    public float LogUniform(float from, float to) => MathF.Exp(Uniform(MathF.Log(from), MathF.Log(to)));

    /// <summary>Uniform whole number in [from, to].</summary>
    public int Whole(int from, int to) => from + (int)(Unit() * (to - from + 1));

    /// <summary>True with the given probability.</summary>
    public bool Chance(float probability) => Unit() < probability;

    /// <summary>+1 or -1.</summary>
    public float Sign() => Unit() < 0.5f ? -1 : 1;

    /// <summary>Standard normal (Box and Muller 1958).</summary>
    public float Normal() =>
        MathF.Sqrt(-2 * MathF.Log(1 - Unit())) * MathF.Cos(2 * MathF.PI * Unit());

    private static ulong Mix(ulong z)
    {
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9UL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBUL;
        return z ^ (z >> 31);
    }

    private ulong Next()
    {
        ulong result = ulong.RotateLeft(_b * 5, 7) * 9;
        ulong t = _b << 17;
        _c ^= _a;
        _d ^= _b;
        _b ^= _c;
        _a ^= _d;
        _c ^= t;
        _d = ulong.RotateLeft(_d, 45);
        return result;
    }
}
