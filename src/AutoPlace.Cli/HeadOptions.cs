using System.CommandLine;
using System.CommandLine.Parsing;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;

namespace AutoPlace.Cli;

/// <summary>Options about finding the head, shared by the verbs that do.</summary>
internal sealed class HeadOptions
{
    private readonly Option<Vector3d?> _up = Axis("--up", "Axis of the file that is up.");

    private readonly Option<Vector3d?> _front = Axis("--front", "Axis of the file that the face looks along.");

    private readonly Option<string[]> _parts = new("--part")
    {
        Description = "Name of a part that belongs to the head; may be given several times. Left out, the head is found.",
        HelpName = "NAME",
        AllowMultipleArgumentsPerToken = false,
    };

    private readonly Option<bool> _symmetric = new("--symmetric") { Description = "Treat the head as symmetric." };

    /// <summary>Adds the options to a verb.</summary>
    internal void AddTo(Command command)
    {
        command.Add(_up);
        command.Add(_front);
        command.Add(_parts);
        command.Add(_symmetric);
        command.Validators.Add(result =>
        {
            bool readable = result.GetResult(_up) is { } givenUp && !givenUp.Errors.Any()
                && result.GetResult(_front) is { } givenFront && !givenFront.Errors.Any();
            if (readable && result.GetValue(_up) is Vector3d up && result.GetValue(_front) is Vector3d front
                && Vector3d.Dot(up, front) != 0)
            {
                result.AddError("--up and --front can't be the same axis.");
            }
        });
    }

    /// <summary>The options as given.</summary>
    internal PlacementOptions Read(ParseResult parsed) => PlacementOptions.Default with
    {
        Up = parsed.GetValue(_up),
        Front = parsed.GetValue(_front),
        Parts = parsed.GetValue(_parts) ?? [],
        Symmetric = parsed.GetValue(_symmetric),
    };

    private static Option<Vector3d?> Axis(string name, string description) => new(name)
    {
        Description = $"{description} One of x, -x, y, -y, z, -z; left out, it is found.",
        HelpName = "AXIS",
        CustomParser = result => Parse(name, result),
    };

    private static Vector3d? Parse(string name, ArgumentResult result)
    {
        string word = result.Tokens[0].Value;
        if (AxisFrames.AxesByName.TryGetValue(word, out Vector3d axis))
        {
            return axis;
        }

        result.AddError($"{name}: '{word}' is none of x, -x, y, -y, z, -z.");
        return null;
    }
}
