using System.Diagnostics;
using System.Net;
using System.Net.Sockets;

namespace AutoPlace.Editor.Tests;

/// <summary><c>autoplace serve</c> as a process of its own, on a free port and a folder that it shares with nobody.</summary>
internal sealed class RunningService : IAsyncDisposable
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(60);

    private readonly string _data = Directory.CreateTempSubdirectory("autoplace-editor-").FullName;
    private readonly int _port = FreePort();
    private Process? _process;

    /// <summary>Address of the page.</summary>
    internal string Address => $"http://127.0.0.1:{_port}/";

    /// <summary>Starts it and waits until it is ready.</summary>
    internal async Task StartAsync()
    {
        string program = Path.Combine(Requirements.ProgramFolder, OperatingSystem.IsWindows() ? "autoplace.exe" : "autoplace");
        var start = new ProcessStartInfo(program, ["serve", "--data", _data, "--urls", Address.TrimEnd('/')])
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            WorkingDirectory = _data,
        };
        _process = Process.Start(start)!;
        _process.BeginErrorReadLine();
        _process.BeginOutputReadLine();
        using var client = new HttpClient { BaseAddress = new Uri(Address) };
        for (var clock = Stopwatch.StartNew(); ; await Task.Delay(50))
        {
            try
            {
                if ((await client.GetAsync("health/ready")).StatusCode == HttpStatusCode.OK)
                {
                    return;
                }
            }
            catch (HttpRequestException) when (clock.Elapsed < Patience && !_process.HasExited)
            {
                // Not listening yet.
            }

            if (clock.Elapsed > Patience || _process.HasExited)
            {
                throw new InvalidOperationException($"the service isn't ready after {clock.Elapsed.TotalSeconds:0} s");
            }
        }
    }

    /// <summary>Ends it at once, as a power cut would.</summary>
    internal async Task KillAsync()
    {
        if (_process is { } process)
        {
            process.Kill(entireProcessTree: true);
            await process.WaitForExitAsync();
            process.Dispose();
            _process = null;
        }
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        await KillAsync();
        Directory.Delete(_data, recursive: true);
    }

    // Below those that systems give to connections: nothing else may have it while the service is away.
    private static int FreePort()
    {
        while (true)
        {
            int port = Random.Shared.Next(20_000, 32_000);
            try
            {
                using var listener = new TcpListener(IPAddress.Loopback, port);
                listener.Start();
                return port;
            }
            catch (SocketException)
            {
                // Taken.
            }
        }
    }
}
