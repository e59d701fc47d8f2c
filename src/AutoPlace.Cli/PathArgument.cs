using System.CommandLine;
using System.CommandLine.Parsing;

namespace AutoPlace.Cli;

/// <summary>Arguments and options that name files or folders.</summary>
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
            RefuseEmpty(result, name);
            foreach (string word in result.Tokens.Select(t => t.Value).Where(w => w.StartsWith('-')))
            {
                result.AddError($"There is no option '{word}' (a file of that name can be given as ./{word}).");
            }
        });
        return argument;
    }

    /// <summary>Makes an option wrong usage when its path is the empty word.</summary>
    /// <returns>The same option.</returns>
    internal static T NotEmpty<T>(T option)
        where T : Option
    {
        option.Validators.Add(result => RefuseEmpty(result, option.Name));
        return option;
    }

    private static void RefuseEmpty(SymbolResult result, string name)
    {
        if (result.Tokens.Any(t => t.Value.Length == 0))
        {
            result.AddError($"{name} is empty where a file or folder should be named.");
        }
    }
}
