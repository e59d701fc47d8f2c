using System.CommandLine;
using System.CommandLine.Parsing;
using System.Globalization;
using AutoPlace.Service;

namespace AutoPlace.Cli.Commands;

/// <summary><c>autoplace serve</c>: the service and its editor.</summary>
internal static class ServeCommand
{
    private const string KeyVariable = "AUTOPLACE_API_KEY";

    internal static Command Create(CommandSession session)
    {
        var urls = new Option<string?>("--urls")
        {
            Description = "Addresses to listen on, ';' between them; left out, http://127.0.0.1:5317. Any but a loopback address needs an API key.",
            HelpName = "URL",
        };
        urls.Validators.Add(result =>
        {
            if (result.GetValue(urls) is { } given && Addresses(given).Length == 0)
            {
                result.AddError("--urls names no address.");
            }
        });
        Option<string> data = PathArgument.NotEmpty(new Option<string>("--data")
        {
            Description = "Folder that keeps heads, placements and revisions; left out, ./autoplace-data.",
            HelpName = "DIR",
            DefaultValueFactory = _ => Path.Combine(".", "autoplace-data"),
        });
        Option<string?> keyFile = PathArgument.NotEmpty(new Option<string?>("--api-key-file")
        {
            Description = $"File with the key that requests have to bring; the variable {KeyVariable} may hold it too.",
            HelpName = "FILE",
        });
        var retention = new Option<TimeSpan?>("--retention")
        {
            Description = "Delete heads that weren't used for so long, with everything made of them, such as 30d or 12h; left out, they are kept.",
            HelpName = "TIME",
            CustomParser = Time,
        };
        Option<int> queue = Most("--queue", "Most placements that wait.", "N", 64);
        Option<int> largest = Most("--max-upload", "Largest head file, MB.", "MB", 256);
        var command = new Command("serve", "Run the service and its editor.") { urls, data, keyFile, retention, queue, largest };
        command.SetAction(parsed => Serve(
            session,
            parsed.GetValue(urls),
            parsed.GetValue(data)!,
            parsed.GetValue(keyFile),
            parsed.GetValue(retention),
            (parsed.GetValue(queue), parsed.GetValue(largest))));
        return command;
    }

    private static int Serve(CommandSession session, string? urls, string data, string? keyFile, TimeSpan? retention, (int Queue, int Megabytes) most)
    {
        if (!TryReadKey(keyFile, out string? key, out string? fault))
        {
            session.Error.WriteLine(fault);
            return ExitCode.WrongUsage;
        }

        var options = new ServiceOptions
        {
            DataFolder = Path.GetFullPath(data),
            ApiKey = key,
            Retention = retention,
            MostQueued = most.Queue,
            MostHeadBytes = (long)most.Megabytes << 20,
        };
        return ServiceRun.Run(urls is null ? options : options with { Urls = Addresses(urls) }, session);
    }

    private static string[] Addresses(string urls) => urls.Split(';', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries);

    private static bool TryReadKey(string? file, out string? key, out string? fault)
    {
        (key, fault) = (null, null);
        try
        {
            key = (file is null ? Environment.GetEnvironmentVariable(KeyVariable) : File.ReadAllText(file))?.Trim();
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            fault = $"{file}: {e.Message}";
            return false;
        }

        const int LeastKeyLength = 16;
        if (key is { Length: > 0 and < LeastKeyLength } || (file is not null && key!.Length == 0))
        {
            fault = $"the API key has fewer than {LeastKeyLength} characters";
            return false;
        }

        key = key is { Length: 0 } ? null : key;
        return true;
    }

    private static Option<int> Most(string name, string description, string unit, int otherwise) => new(name)
    {
        Description = description,
        HelpName = unit,
        DefaultValueFactory = _ => otherwise,
        CustomParser = result =>
        {
            string word = result.Tokens[0].Value;
            if (!int.TryParse(word, NumberStyles.None, CultureInfo.InvariantCulture, out int most) || most < 1)
            {
                result.AddError($"{name}: '{word}' is no whole number from 1 to {int.MaxValue}.");
            }

            return most;
        },
    };

    private static TimeSpan? Time(ArgumentResult result)
    {
        string word = result.Tokens[0].Value;
        TimeSpan? unit = word.Length < 2 ? null : word[^1] switch
        {
            'd' => TimeSpan.FromDays(1),
            'h' => TimeSpan.FromHours(1),
            'm' => TimeSpan.FromMinutes(1),
            _ => null,
        };
        if (unit is { } each && int.TryParse(word[..^1], NumberStyles.None, CultureInfo.InvariantCulture, out int count) && count is > 0 and < 100_000)
        {
            return each * count;
        }

        result.AddError($"--retention: '{word}' is no time such as 30d, 12h or 45m.");
        return null;
    }
}
