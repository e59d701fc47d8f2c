using Xunit;

namespace AutoPlace.Tests.Cli;

/// <summary>Runs the executable as a user without rights, since root may read and write everything.</summary>
internal static class OtherUser
{
    private const string SetPriv = "/usr/bin/setpriv";

    /// <summary>What the owner of a folder needs.</summary>
    internal const UnixFileMode Owner = UnixFileMode.UserRead | UnixFileMode.UserWrite | UnixFileMode.UserExecute;

    // "nobody" and "nogroup" of Debian; any that isn't root would do.
    private static readonly string[] Identity = ["--reuid=65534", "--regid=65534", "--clear-groups"];

    /// <summary>Takes all permissions on a file or folder from everybody, or gives them to its owner alone.</summary>
    internal static void Restrict(string path, UnixFileMode mode)
    {
        if (OperatingSystem.IsWindows())
        {
            Assert.Skip("needs permissions as Unix has them");
            return;
        }

        File.SetUnixFileMode(path, mode);
    }

    /// <summary>Runs it in a folder of the tests, which the user may enter; skips the test where that can't be done.</summary>
    internal static AutoplaceProcess.Outcome Run(string folder, params string[] arguments)
    {
        if (Environment.UserName != "root")
        {
            return AutoplaceProcess.Run(AutoplaceProcess.Executable, arguments);
        }

        Assert.SkipUnless(File.Exists(SetPriv), "as root, this needs setpriv (Debian util-linux) to become another user");
        Restrict(folder, Owner | UnixFileMode.OtherExecute | UnixFileMode.OtherRead);
        Assert.SkipUnless(
            AutoplaceProcess.Run(SetPriv, [.. Identity, AutoplaceProcess.Executable, "--version"]).ExitCode == 0,
            "another user can't run the executable where it lies");
        return AutoplaceProcess.Run(SetPriv, [.. Identity, AutoplaceProcess.Executable, .. arguments]);
    }
}
