using System.Diagnostics;

namespace AutoPlace.Service.Tests;

/// <summary>A real <c>autoplace serve</c>, as a process that can be killed.</summary>
internal sealed class ServeProcess : IDisposable
{
    private static readonly string Executable = Path.Combine(AppContext.BaseDirectory, OperatingSystem.IsWindows() ? "autoplace.exe" : "autoplace");

    private readonly Process _process;

    private ServeProcess(Process process, Uri address)
    {
        _process = process;
        Client = new HttpClient { BaseAddress = address, Timeout = TimeSpan.FromSeconds(60) };
    }

    public HttpClient Client { get; }

    /// <summary>Starts it on a free port and waits until it listens.</summary>
    public static async Task<ServeProcess> StartAsync(string data, params string[] more)
    {
        var start = new ProcessStartInfo(Executable, ["serve", "--data", data, "--urls", "http://127.0.0.1:0", .. more]) { RedirectStandardOutput = true, RedirectStandardError = true };
        Process process = Process.Start(start)!;
        process.ErrorDataReceived += (_, _) => { };
        process.BeginErrorReadLine();
        string? address = await process.StandardOutput.ReadLineAsync(RunningService.Cancellation);
        return address is null ? throw new InvalidOperationException("serve ended at once") : new ServeProcess(process, new Uri(address));
    }

    /// <summary>Ends it without a word, as SIGKILL does.</summary>
    public void Kill()
    {
        _process.Kill();
        _process.WaitForExit();
    }

    public void Dispose()
    {
        Client.Dispose();
        if (!_process.HasExited)
        {
            Kill();
        }

        _process.Dispose();
    }
}
