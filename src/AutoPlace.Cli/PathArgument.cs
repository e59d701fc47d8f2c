using System.CommandLine;

namespace AutoPlace.Cli;

/// <summary>Arguments that name files or folders.</summary>
internal static class PathArgument
{
    /// <summary>An argument that takes no word that looks like an option, so that a misspelt option is wrong usage and no path.</summary>
    /// <typeparam name="T">A string, or an array for several.</typeparam>
    /// <param name="name">Name in the help.</param>
    /// <param name="description">Description in the help.</param>
    internal static Argument<T> Create<T>(string name, string description)
    {
        var argument = new Argument<T>(name) { Description = description };
        argument.Validators.Add(result =>
        {
            foreach (string word in result.Tokens.Select(t => t.Value).Where(w => w.StartsWith('-')))
            {
                result.AddError($"There is no option '{word}' (a file of that name can be given as ./{word}).");
            }
        });
        return argument;
    }
}
