using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.TrainingData.Output;

/// <summary>
/// Streams shards: threads take heads in order, each shard is written by whichever thread completes it, under a
/// temporary name that is then changed to shard-NNNNNN.bin. The views of a shard's heads alternate.
/// </summary>
internal sealed class ShardWriter
{
    private static readonly TimeSpan PendingPoll = TimeSpan.FromMilliseconds(20);
    private static readonly TimeSpan ReportInterval = TimeSpan.FromSeconds(5);
    private readonly GenerationOptions _options;
    private readonly MorphableModel _model;
    private readonly LandmarkCarrier _carrier;
    private readonly HeadRegions _regions;
    private readonly ConcurrentDictionary<int, Shard> _open = new();
    private readonly ConcurrentBag<byte[]> _free = [];
    private readonly Stopwatch _clock = new();
    private int _nextHead;
    private long _views;
    private long _reportedTicks;

    /// <summary>Prepares a run.</summary>
    /// <exception cref="ArgumentException">The views of a head don't fill a shard evenly, or a count isn't positive.</exception>
    public ShardWriter(GenerationOptions options, MorphableModel model)
    {
        if (options.ViewsPerHead < 1 || options.ShardRecords < 1 || options.Shards < 0 || options.Threads < 1)
        {
            throw new ArgumentException("Shard records, threads and views of a head must be positive.");
        }

        if (options.ShardRecords % options.ViewsPerHead != 0)
        {
            throw new ArgumentException($"{options.ShardRecords} records of a shard are not a multiple of {options.ViewsPerHead} views of a head.");
        }

        (_options, _model) = (options, model);
        _carrier = new LandmarkCarrier(model);
        _regions = new HeadRegions(model);
    }

    /// <summary>Number of views written so far.</summary>
    public long Views => Interlocked.Read(ref _views);

    /// <summary>Writes all shards.</summary>
    /// <param name="progress">Receives a line now and then.</param>
    /// <param name="cancellation">Stops after the heads at work; a shard that isn't complete is left out.</param>
    public void Run(TextWriter progress, CancellationToken cancellation)
    {
        Directory.CreateDirectory(_options.Out);
        _clock.Start();
        var failures = new ConcurrentQueue<Exception>();
        Thread[] threads = [.. Enumerable.Range(0, _options.Threads).Select(_ => new Thread(() => Work(progress, failures, cancellation)))];
        foreach (Thread thread in threads)
        {
            thread.Start();
        }

        foreach (Thread thread in threads)
        {
            thread.Join();
        }

        if (!failures.IsEmpty)
        {
            throw new AggregateException(failures);
        }

        progress.WriteLine(Rate());
    }

    private void Work(TextWriter progress, ConcurrentQueue<Exception> failures, CancellationToken cancellation)
    {
        try
        {
            var generator = new ViewGenerator(_options, _model, _carrier, _regions);
            while (!cancellation.IsCancellationRequested && failures.IsEmpty)
            {
                int number = Interlocked.Increment(ref _nextHead) - 1;
                int shardNumber = number / _options.HeadsPerShard;
                if (shardNumber >= _options.Shards)
                {
                    return;
                }

                WaitForRoom(shardNumber, cancellation);
                GenerateHead(generator, number, shardNumber);
                Report(progress);
            }
        }
        catch (Exception exception) when (exception is IOException or ArgumentException or InvalidOperationException or UnauthorizedAccessException)
        {
            failures.Enqueue(exception);
        }
    }

    private void GenerateHead(ViewGenerator generator, int number, int shardNumber)
    {
        Shard shard = _open.GetOrAdd(shardNumber, _ => new Shard(RentBuffer));
        byte[] bytes = shard.Bytes;
        int headInShard = number % _options.HeadsPerShard;
        generator.Generate(number, view =>
            bytes.AsMemory(((view * _options.HeadsPerShard) + headInShard) * RecordLayout.RecordBytes, RecordLayout.RecordBytes));
        Interlocked.Add(ref _views, _options.ViewsPerHead);
        if (shard.CompleteHead() == _options.HeadsPerShard)
        {
            _open.TryRemove(shardNumber, out _);
            Save(shardNumber, bytes);
            _free.Add(bytes);
        }
    }

    private byte[] RentBuffer() =>
        _free.TryTake(out byte[]? bytes) ? bytes : new byte[_options.ShardRecords * RecordLayout.RecordBytes];

    private void Save(int shardNumber, byte[] bytes)
    {
        string path = Path.Combine(_options.Out, string.Create(CultureInfo.InvariantCulture, $"shard-{shardNumber:D6}.bin"));
        File.WriteAllBytes(path + ".tmp", bytes);
        File.Move(path + ".tmp", path, overwrite: true);
    }

    // A shard that is already begun is finished without waiting, so that no thread can block it.
    private void WaitForRoom(int shardNumber, CancellationToken cancellation)
    {
        while (_options.MaxPending > 0 && !_open.ContainsKey(shardNumber) && !cancellation.IsCancellationRequested
            && Directory.EnumerateFiles(_options.Out, "shard-*.bin").Count() + _open.Count > _options.MaxPending)
        {
            Thread.Sleep(PendingPoll);
        }
    }

    private void Report(TextWriter progress)
    {
        long now = _clock.ElapsedTicks, last = Interlocked.Read(ref _reportedTicks);
        if (TimeSpan.FromTicks((now - last) * TimeSpan.TicksPerSecond / Stopwatch.Frequency) >= ReportInterval
            && Interlocked.CompareExchange(ref _reportedTicks, now, last) == last)
        {
            progress.WriteLine(Rate());
        }
    }

    private string Rate() => string.Create(
        CultureInfo.InvariantCulture, $"{Views} views, {Views / Math.Max(1e-9, _clock.Elapsed.TotalSeconds):F0} views/s");

    private sealed class Shard(Func<byte[]> rent)
    {
        private readonly Lazy<byte[]> _bytes = new(rent);
        private int _heads;

        public byte[] Bytes => _bytes.Value;

        public int CompleteHead() => Interlocked.Increment(ref _heads);
    }
}
