using AutoPlace.Export;
using Xunit;

namespace AutoPlace.Tests.Export;

public sealed class OutputFolderTests : IDisposable
{
    private readonly string _root = Directory.CreateTempSubdirectory("autoplace-").FullName;

    public void Dispose() => Directory.Delete(_root, recursive: true);

    [Fact]
    public void Files_appear_only_when_committed()
    {
        string folder = Path.Combine(_root, "a", "b");
        using (var output = new OutputFolder(folder))
        {
            output.Add("x.txt", s => s.Write("new"u8));
            Assert.False(File.Exists(Path.Combine(folder, "x.txt")));
            output.Commit();
        }

        Assert.Equal("new", File.ReadAllText(Path.Combine(folder, "x.txt")));
        Assert.Equal([Path.Combine(folder, "x.txt")], Directory.GetFileSystemEntries(folder));
    }

    [Fact]
    public void Failure_leaves_older_files_and_nothing_else()
    {
        File.WriteAllText(Path.Combine(_root, "x.txt"), "old");

        Assert.Throws<InvalidOperationException>(() =>
        {
            using var output = new OutputFolder(_root);
            output.Add("x.txt", s => s.Write("new"u8));
            output.Add("y.txt", _ => throw new InvalidOperationException());
        });

        Assert.Equal("old", File.ReadAllText(Path.Combine(_root, "x.txt")));
        Assert.Single(Directory.GetFileSystemEntries(_root));
    }

    [Fact]
    public void Folder_made_for_nothing_is_removed_again()
    {
        using (var output = new OutputFolder(Path.Combine(_root, "a", "b")))
        {
            output.Add("x.txt", s => s.Write("new"u8));
        }

        Assert.Empty(Directory.GetFileSystemEntries(_root));
    }

    [Fact]
    public void File_whose_name_a_folder_has_stops_all_of_them()
    {
        Directory.CreateDirectory(Path.Combine(_root, "y.txt"));

        var error = Assert.Throws<OutputException>(() =>
        {
            using var output = new OutputFolder(_root);
            output.Add("x.txt", s => s.Write("new"u8));
            output.Add("y.txt", s => s.Write("new"u8));
            output.Commit();
        });

        Assert.Equal(Path.Combine(_root, "y.txt"), error.Path);
        Assert.Equal([Path.Combine(_root, "y.txt")], Directory.GetFileSystemEntries(_root));
    }

    /// <summary>What was added first appears last, so that it stands for the whole set: here the move of the other one fails.</summary>
    [Fact]
    public void First_file_appears_only_when_the_others_are_there()
    {
        File.WriteAllText(Path.Combine(_root, "x.txt"), "old");
        using var output = new OutputFolder(_root);
        output.Add("x.txt", s => s.Write("new"u8));
        output.Add("y.txt", s => s.Write("new"u8));
        File.Delete(Directory.GetFiles(_root, "y.txt", SearchOption.AllDirectories).Single());

        Assert.Throws<OutputException>(output.Commit);

        Assert.Equal("old", File.ReadAllText(Path.Combine(_root, "x.txt")));
    }

    [Fact]
    public void Folder_that_is_a_file_is_refused()
    {
        string file = Path.Combine(_root, "taken");
        File.WriteAllText(file, "");

        var error = Assert.Throws<OutputException>(() => new OutputFolder(file));

        Assert.Equal(file, error.Path);
    }
}
