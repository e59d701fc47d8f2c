using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Output;

/// <summary>What to generate.</summary>
internal sealed record GenerationOptions
{
    /// <summary>Folder of the morphable model.</summary>
    public required string Morphable { get; init; }

    /// <summary>Folder that receives shards.</summary>
    public string Out { get; init; } = "";

    /// <summary>Seed of the run.</summary>
    public ulong Seed { get; init; } = 1;

    /// <summary>Takes heads from the stream that training never sees.</summary>
    public bool HeldOut { get; init; }

    /// <summary>Records in a shard.</summary>
    public int ShardRecords { get; init; } = 256;

    /// <summary>Number of shards.</summary>
    public int Shards { get; init; } = 1;

    /// <summary>Number of threads.</summary>
    public int Threads { get; init; } = Environment.ProcessorCount;

    /// <summary>Waits while more shards than this lie in the folder; 0 never waits.</summary>
    public int MaxPending { get; init; }

    /// <summary>Views of each head.</summary>
    public int ViewsPerHead { get; init; } = 8;

    /// <summary>Views of the whole of what a file may hold, from any side, for the head finder.</summary>
    public bool Survey { get; init; }

    /// <summary>How often each kind comes.</summary>
    public KindShares Kinds { get; init; } = KindShares.Standard;

    /// <summary>Heads in a shard.</summary>
    public int HeadsPerShard => ShardRecords / ViewsPerHead;

    /// <summary>The stream of random numbers of one head.</summary>
    public SeededRandom HeadStream(int number) => new(Seed, HeldOut ? 0x48454C444F5554UL : 0x545241494EUL, (ulong)number);
}
