using System.Numerics;
using System.Text;
using System.Text.Json.Nodes;
using AutoPlace.Export;
using AutoPlace.Tests.Export;
using AutoPlace.Tests.Import;
using Xunit;

namespace AutoPlace.Tests.Cli;

/// <summary>Files that can't be read, given to the real executable: code 3, one line that names file, element and reason, nothing written.</summary>
public sealed class HardFileProcessTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("autoplace-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void Hard_files_are_refused_with_a_line_each()
    {
        HardFile[] files = [.. HardFiles.All];
        string[] paths = [.. files.Select(f => Write(f.Name, f.Bytes))];
        string[] before = Entries();

        AutoplaceProcess.Outcome outcome = AutoplaceProcess.Run(["place", .. paths, "-o", Path.Combine(_folder, "out")]);

        Assert.Empty(outcome.Output);
        for (int i = 0; i < files.Length; i++)
        {
            string line = outcome.ErrorLines.ElementAtOrDefault(i) ?? "";
            Assert.StartsWith($"{paths[i]}: ", line, StringComparison.Ordinal);
            Assert.Contains(files[i].Said, line, StringComparison.Ordinal);
        }

        Assert.Equal(files.Length, outcome.ErrorLines.Length);
        Assert.Equal(3, outcome.ExitCode);
        Assert.Equal(before, Entries());
    }

    [Theory]
    [InlineData("million.ply")]
    [InlineData("range.glb")]
    [InlineData("foreign.usdc")]
    public void Verbs_refuse_a_head_alike(string name)
    {
        HardFile file = HardFiles.All.Single(f => f.Name == name);
        string path = Write(file.Name, file.Bytes);
        string placement = Path.Combine(_folder, "placement.json");
        using (FileStream stream = File.Create(placement))
        {
            PlacementJson.Write(FileCoordinates.Describe(SampleHead.Result(SampleGltf.Frame)), stream);
        }

        string[] before = Entries();

        AutoplaceProcess.Outcome place = AutoplaceProcess.Run(["place", path], _folder);
        AutoplaceProcess.Outcome check = AutoplaceProcess.Run(["check", path, placement], _folder);
        AutoplaceProcess.Outcome render = AutoplaceProcess.Run(["render", path, "-o", Path.Combine(_folder, "out")], _folder);

        Assert.Equal(3, place.ExitCode);
        Assert.Equal(place, check);
        Assert.Equal(place, render);
        Assert.Single(place.ErrorLines);
        Assert.Equal(before, Entries());
    }

    [Theory]
    [InlineData("", "not valid JSON")]
    [InlineData("{\"format\": \"autoplace.placement\"", "not valid JSON")]
    [InlineData("{\"format\": \"autoplace.placement\", \"version\": 1}", "key \"head\" is missing")]
    [InlineData("\0\0\0", "not valid JSON")]
    public void Check_refuses_what_is_no_placement(string content, string said)
    {
        string head = Write("head.glb", SampleGltf.Plain());
        string placement = Write("placement.json", Encoding.UTF8.GetBytes(content));

        AutoplaceProcess.Outcome outcome = AutoplaceProcess.Run("check", head, placement);

        Assert.Equal(3, outcome.ExitCode);
        string line = Assert.Single(outcome.ErrorLines);
        Assert.StartsWith($"{placement}: ", line, StringComparison.Ordinal);
        Assert.Contains(said, line, StringComparison.Ordinal);
        Assert.DoesNotContain("LineNumber", line, StringComparison.Ordinal);
    }

    [Fact]
    public void Paths_that_are_no_files_are_refused()
    {
        string missing = Path.Combine(_folder, "missing ä.glb");
        string folder = Path.Combine(_folder, "folder.glb");
        Directory.CreateDirectory(folder);

        AutoplaceProcess.Outcome outcome = AutoplaceProcess.Run("place", missing, folder);

        Assert.Equal(3, outcome.ExitCode);
        Assert.Equal(2, outcome.ErrorLines.Length);
        Assert.StartsWith($"{missing}: ", outcome.ErrorLines[0], StringComparison.Ordinal);
        Assert.Equal($"{folder}: is a folder", outcome.ErrorLines[1]);
    }

    [Fact]
    public void Coordinates_too_large_to_reckon_with_are_refused()
    {
        string path = Write("huge.obj", "v 0 0 0\nv 1e38 0 0\nv 0 1 0\nf 1 2 3\n"u8.ToArray());

        AutoplaceProcess.Outcome outcome = AutoplaceProcess.Run("place", path, "-o", Path.Combine(_folder, "out"));

        Assert.Equal(3, outcome.ExitCode);
        Assert.Equal("huge.obj: vertex 1: a coordinate of 1E+38 is beyond 1E+09", Assert.Single(outcome.ErrorLines));
    }

    [Fact]
    public void Empty_names_are_wrong_usage()
    {
        foreach (string[] arguments in (string[][])[["place", ""], ["place", "a.glb", "-o", ""], ["check", "", "a"], ["render", "a", "-o", ""]])
        {
            AutoplaceProcess.Outcome outcome = AutoplaceProcess.Run(arguments);
            Assert.Equal(2, outcome.ExitCode);
            Assert.Contains("is empty where a file or folder should be named", outcome.Error, StringComparison.Ordinal);
        }
    }

    [Fact]
    public void File_that_the_user_may_not_read_is_refused()
    {
        string path = Write("secret.glb", SampleGltf.Plain());
        OtherUser.Restrict(path, UnixFileMode.None);

        AutoplaceProcess.Outcome outcome = OtherUser.Run(_folder, "place", path);

        Assert.Equal(3, outcome.ExitCode);
        Assert.Equal($"{path}: Access to the path '{path}' is denied.", Assert.Single(outcome.ErrorLines));
    }

    [Fact]
    public void Link_that_leads_out_of_the_files_folder_is_refused()
    {
        GlbFile file = HardFiles.Triangle(Vector3.UnitY, 2);
        Write("outside/head.bin", file.Buffer);
        Directory.CreateDirectory(Path.Combine(_folder, "inside"));
        Directory.CreateSymbolicLink(Path.Combine(_folder, "inside", "link"), "../outside");
        file.Json["buffers"] = new JsonArray(new JsonObject { ["uri"] = "link/head.bin", ["byteLength"] = file.Buffer.Length });
        string path = Write("inside/head.gltf", Encoding.UTF8.GetBytes(file.Json.ToJsonString()));

        AutoplaceProcess.Outcome outcome = AutoplaceProcess.Run("place", path);

        Assert.Equal(3, outcome.ExitCode);
        Assert.Equal($"{path}: buffer 0: 'link/head.bin': is a link that leads out of the folder of this file", Assert.Single(outcome.ErrorLines));
    }

    private string Write(string name, byte[] bytes)
    {
        string path = Path.Combine(_folder, name);
        Directory.CreateDirectory(Path.Combine(_folder, Path.GetDirectoryName(name)!.Replace("/..", "", StringComparison.Ordinal)));
        File.WriteAllBytes(path, bytes);
        return path;
    }

    private string[] Entries() =>
        [.. Directory.EnumerateFileSystemEntries(_folder, "*", SearchOption.AllDirectories).Order(StringComparer.Ordinal)];
}
