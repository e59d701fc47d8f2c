using System.Globalization;
using AutoPlace.TrainingData.Output;
using AutoPlace.TrainingData.Sampling;
using Xunit;

namespace AutoPlace.Tests.TrainingData;

public sealed class ShardWriterTests
{
    [Fact]
    public void Shards_do_not_depend_on_the_number_of_threads()
    {
        string[] one = Generate(threads: 1), three = Generate(threads: 3);
        Assert.Equal(2, one.Length);
        Assert.Equal(one, three);
    }

    [Fact]
    public void Held_out_heads_are_others()
    {
        Assert.Empty(Generate(threads: 2).Intersect(Generate(threads: 2, heldOut: true)));
    }

    [Fact]
    public void Views_of_a_shards_heads_alternate()
    {
        string folder = Directory.CreateTempSubdirectory().FullName;
        try
        {
            new ShardWriter(Options(folder, 2, false), TinyMorphable.Model).Run(TextWriter.Null, CancellationToken.None);
            byte[] shard = File.ReadAllBytes(Path.Combine(folder, "shard-000001.bin"));
            int[] heads = [.. Enumerable.Range(0, 8).Select(r => BitConverter.ToInt32(shard, (r * RecordLayout.RecordBytes) + RecordLayout.Head))];
            Assert.Equal([4, 5, 6, 7, 4, 5, 6, 7], heads);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    [Fact]
    public async Task Writer_waits_while_shards_are_pending()
    {
        string folder = Directory.CreateTempSubdirectory().FullName;
        try
        {
            GenerationOptions options = Options(folder, 2, false) with { MaxPending = 1, Shards = 4 };
            var run = Task.Run(
                () => new ShardWriter(options, TinyMorphable.Model).Run(TextWriter.Null, TestContext.Current.CancellationToken),
                TestContext.Current.CancellationToken);
            int taken = 0, most = 0;
            while (taken < 4)
            {
                string[] files = Directory.GetFiles(folder, "shard-*.bin");
                most = Math.Max(most, files.Length);
                string next = Path.Combine(folder, string.Create(CultureInfo.InvariantCulture, $"shard-{taken:D6}.bin"));
                if (File.Exists(next))
                {
                    await Task.Delay(30, TestContext.Current.CancellationToken);
                    File.Delete(next);
                    taken++;
                }

                await Task.Delay(5, TestContext.Current.CancellationToken);
            }

            await run;

            // One pending, one at work when the first was counted.
            Assert.InRange(most, 1, 2);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    [Fact]
    public void Views_that_do_not_fill_a_shard_are_refused()
    {
        GenerationOptions options = Options("unused", 1, false) with { ViewsPerHead = 3 };
        ArgumentException exception = Assert.Throws<ArgumentException>(() => new ShardWriter(options, TinyMorphable.Model));
        Assert.Contains("multiple of 3", exception.Message, StringComparison.Ordinal);
    }

    private static GenerationOptions Options(string folder, int threads, bool heldOut) => new()
    {
        Morphable = "",
        Out = folder,
        Seed = 5,
        HeldOut = heldOut,
        ShardRecords = 8,
        ViewsPerHead = 2,
        Shards = 2,
        Threads = threads,
        Kinds = KindShares.Standard with { NonHead = 0.2f, WrongFrame = 0.2f },
    };

    private static string[] Generate(int threads, bool heldOut = false)
    {
        string folder = Directory.CreateTempSubdirectory().FullName;
        try
        {
            new ShardWriter(Options(folder, threads, heldOut), TinyMorphable.Model).Run(TextWriter.Null, CancellationToken.None);
            return [.. Directory.GetFiles(folder).Order(StringComparer.Ordinal)
                .Select(f => Convert.ToHexString(System.Security.Cryptography.SHA256.HashData(File.ReadAllBytes(f))))];
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }
}
