using System.Buffers.Binary;
using System.Text;
using System.Text.Json.Nodes;
using AutoPlace.Cli;
using AutoPlace.Import;
using AutoPlace.Tests.Export;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Cli;

/// <summary>Runs over many heads, in this process, with a placer that knows the sample head's placement.</summary>
public sealed class BulkCommandTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("autoplace-").FullName;
    private readonly CancellationTokenSource _interrupted = new();
    private readonly StringWriter _output = new();
    private readonly StringWriter _error = new();
    private readonly Lock _lock = new();
    private readonly List<string> _placed = [];

    private Func<HeadScan, PlacementResult, PlacementResult> _outcome = static (_, result) => result;

    public BulkCommandTests() => Directory.CreateDirectory(Heads);

    private string Heads => Path.Combine(_folder, "heads in");

    private string Result => Path.Combine(_folder, "result");

    public void Dispose()
    {
        Directory.Delete(_folder, recursive: true);
        _interrupted.Dispose();
    }

    [Fact]
    public void Heads_that_are_fine_are_0_with_files_for_each()
    {
        WriteHeads("a.glb", "b.glb", "c.glb");
        Write("notes.md", "no head");

        Assert.Equal(0, Run());

        Assert.Equal(["a.glb", "b.glb", "c.glb"], _placed.Order(StringComparer.Ordinal));
        foreach (string name in (string[])["a", "b", "c"])
        {
            Assert.Equal(
                ["joints.csv", "lattice.png", "outcome.json", "placement.glb", "placement.json"],
                Directory.EnumerateFiles(Path.Combine(Result, "heads", name)).Select(Path.GetFileName).Order(StringComparer.Ordinal));
        }

        Assert.StartsWith("3 heads: 3 placed, 0 without a head, 0 can't be read\n0 need a person", _output.ToString(), StringComparison.Ordinal);
        Assert.Empty(File.ReadAllText(Path.Combine(Result, "needs-a-person.txt")));
        Assert.Contains("3 of 3", _error.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void Heads_that_need_a_person_are_1_and_come_first()
    {
        WriteHeads("a.glb", "b.glb", "c.glb", "d.glb", "e.glb");
        Write("f.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 7\n");
        _outcome = static (scan, result) => Path.GetFileName(scan.Source) switch
        {
            "b.glb" => result with { NeedsPerson = new NeedsPerson(0.7, ["it has \"three\" eyes, or so"]) },
            "c.glb" => result with { Findings = [new Finding("clearance", Severity.Error, "menton", -0.1, -0.02, "IOD", "menton lies <under> the skin.")] },
            "d.glb" => throw new HeadNotFoundException(scan.Source, "no view shows a face"),
            "e.glb" => result with { NeedsPerson = new NeedsPerson(0.19, []) },
            _ => result,
        };

        Assert.Equal(1, Run());

        string[] report = File.ReadAllLines(Path.Combine(Result, "report.csv"));
        Assert.Equal("name,file,state,needs_person,errors,warnings,seconds,reasons", report[0]);
        Assert.Equal(["f", "d", "b", "e", "c", "a"], report.Skip(1).Select(line => line.Split(',')[0]));
        Assert.Contains("line 4", report[1], StringComparison.Ordinal);
        Assert.Contains(",no-head,1,", report[2], StringComparison.Ordinal);
        Assert.EndsWith("\"it has \"\"three\"\" eyes, or so\"", report[3], StringComparison.Ordinal);
        Assert.Equal(
            ["f.obj", "d.glb", "b.glb", "c.glb"],
            File.ReadAllLines(Path.Combine(Result, "needs-a-person.txt")).Select(Path.GetFileName));
        string sheet = File.ReadAllText(Path.Combine(Result, "contact-sheet.html"));
        Assert.Contains("menton lies &lt;under&gt; the skin.", sheet, StringComparison.Ordinal);
        Assert.Contains("src=\"heads/b/lattice.png\"", sheet, StringComparison.Ordinal);
        Assert.DoesNotContain("heads/d/lattice.png", sheet, StringComparison.Ordinal);
        Assert.StartsWith("6 heads: 4 placed, 1 without a head, 1 can't be read\n4 need a person", _output.ToString(), StringComparison.Ordinal);
    }

    /// <summary>A failed check is a reason and a finding.</summary>
    [Fact]
    public void Sheet_says_a_failed_check_once()
    {
        WriteHeads("a.glb");
        _outcome = static (_, result) => result with
        {
            NeedsPerson = new NeedsPerson(0.5, ["menton lies under the skin"]),
            Findings = [new Finding("clearance", Severity.Error, "menton", -0.1, -0.02, "IOD", "menton lies under the skin.")],
        };

        Assert.Equal(1, Run());

        Assert.Equal(2, File.ReadAllText(Path.Combine(Result, "contact-sheet.html")).Split("menton lies under the skin").Length);
    }

    [Fact]
    public void What_of_a_folder_is_not_taken_is_said()
    {
        WriteHeads("a.glb");
        Directory.CreateDirectory(Path.Combine(Heads, "more", "deep"));
        Directory.CreateDirectory(Path.Combine(Heads, "empty"));
        File.WriteAllBytes(Path.Combine(Heads, "more", "deep", "b.glb"), SampleGltf.Plain());
        Write("c.fbx", "");
        Write("notes.md", "");
        Directory.CreateDirectory(Path.Combine(Heads, "placed", "heads", "a"));
        File.WriteAllBytes(Path.Combine(Heads, "placed", "heads", "a", "placement.glb"), SampleGltf.Plain());

        Assert.Equal(0, CommandLine.Run(["bulk", Heads, "-o", Path.Combine(Heads, "placed")], Session()));

        Assert.Equal(["a.glb"], _placed);
        Assert.StartsWith(
            $"{Heads}: not taken: c.fbx (FBX); export glTF\n{Heads}: heads in folders inside it are not taken: more; a list names heads of several folders\n",
            _error.ToString(),
            StringComparison.Ordinal);
    }

    [Fact]
    public void Resumed_run_does_what_is_left_and_reports_all()
    {
        WriteHeads("a.glb", "b.glb", "c.glb", "d.glb");
        _outcome = (scan, result) =>
        {
            if (Path.GetFileName(scan.Source) == "c.glb")
            {
                Assert.True(SpinWait.SpinUntil(() => Finished().Length > 0, TimeSpan.FromMinutes(1)), "another head is done");
                _interrupted.Cancel();
            }

            return result;
        };
        Assert.Equal(130, Run());
        Assert.EndsWith("what is finished is kept; the same call with --resume does the rest\ninterrupted\n", _error.ToString(), StringComparison.Ordinal);
        Assert.False(File.Exists(Path.Combine(Result, "report.csv")));
        string[] finished = Finished();
        Assert.InRange(finished.Length, 1, 3);
        Assert.DoesNotContain(finished, path => path.Contains($"{Path.DirectorySeparatorChar}c{Path.DirectorySeparatorChar}", StringComparison.Ordinal));

        _placed.Clear();
        _outcome = static (_, result) => result;
        Assert.Equal(0, Run("--resume"));

        Assert.Equal(4 - finished.Length, _placed.Count);
        Assert.Equal(5, File.ReadAllLines(Path.Combine(Result, "report.csv")).Length);
        _placed.Clear();
        Assert.Equal(0, Run("--resume"));
        Assert.Empty(_placed);
    }

    [Fact]
    public void What_has_changed_is_made_again()
    {
        WriteHeads("a.glb", "b.glb");
        Assert.Equal(0, Run());
        _placed.Clear();

        // The last bit of the first coordinate, behind the header, the JSON and the second chunk's header.
        byte[] changed = SampleGltf.Plain();
        changed[12 + 8 + BinaryPrimitives.ReadInt32LittleEndian(changed.AsSpan(12)) + 8] ^= 1;
        File.WriteAllBytes(Path.Combine(Heads, "b.glb"), changed);
        Assert.Equal(0, Run("--resume"));
        Assert.Equal(["b.glb"], _placed);

        _placed.Clear();
        Assert.Equal(0, Run("--resume", "--lattice", "reduced"));
        Assert.Equal(2, _placed.Count);

        File.WriteAllText(Path.Combine(Result, "heads", "a", "outcome.json"), "{ cut of");
        _placed.Clear();
        Assert.Equal(0, Run("--resume", "--lattice", "reduced"));
        Assert.Equal(["a.glb"], _placed);
    }

    [Fact]
    public void Placement_of_what_the_head_was_before_goes_when_it_cannot_be_read_any_more()
    {
        WriteHeads("a.glb", "b.glb");
        Assert.Equal(0, Run());
        string folder = Path.Combine(Result, "heads", "b");
        File.WriteAllText(Path.Combine(folder, "corrections.json"), "a person's");
        Write("b.glb", "glTF, or not");

        Assert.Equal(1, Run("--resume"));

        Assert.Equal(["corrections.json", "outcome.json"], Directory.EnumerateFiles(folder).Select(Path.GetFileName).Order(StringComparer.Ordinal));
        Assert.Equal("b", File.ReadAllLines(Path.Combine(Result, "report.csv"))[1].Split(',')[0]);
    }

    [Fact]
    public void List_names_heads_from_its_own_folder_and_equal_names_get_numbers()
    {
        WriteHeads("a.glb");
        Directory.CreateDirectory(Path.Combine(Heads, "more"));
        File.WriteAllBytes(Path.Combine(Heads, "more", "A.glb"), SampleGltf.Plain());
        string list = Write("crowd.txt", "# the crowd\na.glb\n\nmore/A.glb\nmissing.glb\n");

        Assert.Equal(1, CommandLine.Run(["bulk", list, "-o", Result], Session()));

        Assert.Equal(["A-2", "a", "missing"], Directory.EnumerateDirectories(Path.Combine(Result, "heads")).Select(Path.GetFileName).Order(StringComparer.Ordinal));
        Assert.Contains("missing.glb", File.ReadAllText(Path.Combine(Result, "needs-a-person.txt")), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("nowhere")]
    [InlineData("heads in")]
    public void Nothing_to_place_is_3(string name)
    {
        string path = Path.Combine(_folder, name);

        Assert.Equal(3, CommandLine.Run(["bulk", path, "-o", Result], Session()));

        Assert.StartsWith(path, _error.ToString(), StringComparison.Ordinal);
        Assert.False(Directory.Exists(Result));
    }

    [Fact]
    public void Fault_of_the_program_in_one_head_is_told_and_the_run_goes_on()
    {
        WriteHeads("a.glb", "b.glb", "c.glb");
        _outcome = static (scan, result) => scan.Source == "b.glb" ? throw new ArithmeticException("the matrix is singular") : result;

        Assert.Equal(1, Run());

        string[] report = File.ReadAllLines(Path.Combine(Result, "report.csv"));
        Assert.Equal(["b", "a", "c"], report.Skip(1).Select(line => line.Split(',')[0]));
        Assert.EndsWith("the matrix is singular", report[1], StringComparison.Ordinal);
        _placed.Clear();
        Assert.Equal(1, Run("--resume"));
        Assert.Empty(_placed);
    }

    [Fact]
    public void Buffer_beside_a_gltf_that_has_changed_is_made_again()
    {
        byte[] glb = SampleGltf.Plain();
        int json = BinaryPrimitives.ReadInt32LittleEndian(glb.AsSpan(12));
        JsonNode head = JsonNode.Parse(glb.AsSpan(20, json))!;
        head["buffers"]![0]!["uri"] = "a.bin";
        Write("a.gltf", head.ToJsonString());
        byte[] buffer = glb[(20 + json + 8)..];
        File.WriteAllBytes(Path.Combine(Heads, "a.bin"), buffer);
        Assert.Equal(0, Run());
        _placed.Clear();
        Assert.Equal(0, Run("--resume"));
        Assert.Empty(_placed);

        buffer[0] ^= 1; // the last bit of the first coordinate
        File.WriteAllBytes(Path.Combine(Heads, "a.bin"), buffer);
        Assert.Equal(0, Run("--resume"));
        Assert.Equal(["a.gltf"], _placed);
    }

    /// <summary>A .glb may refer to files of its own just as well; its textures go into placement.glb.</summary>
    [Theory]
    [InlineData("a.glb", "a.bin")]
    [InlineData("a.glb", "skin.png")]
    [InlineData("a.gltf", "skin.png")]
    public void What_a_head_refers_to_that_has_changed_is_made_again(string name, string changed)
    {
        byte[] glb = SampleGltf.Plain();
        int length = BinaryPrimitives.ReadInt32LittleEndian(glb.AsSpan(12));
        JsonNode head = JsonNode.Parse(glb.AsSpan(20, length))!;
        head["buffers"]![0]!["uri"] = "a.bin";
        head["images"] = new JsonArray(new JsonObject { ["uri"] = "skin.png" });
        File.WriteAllBytes(Path.Combine(Heads, "a.bin"), glb[(20 + length + 8)..]);
        Write("skin.png", "not looked into");
        byte[] json = Encoding.UTF8.GetBytes(head.ToJsonString().PadRight((head.ToJsonString().Length + 3) / 4 * 4));
        byte[] header = new byte[20];
        "glTF"u8.CopyTo(header);
        header[4] = 2;
        BinaryPrimitives.WriteInt32LittleEndian(header.AsSpan(8), 20 + json.Length);
        BinaryPrimitives.WriteInt32LittleEndian(header.AsSpan(12), json.Length);
        "JSON"u8.CopyTo(header.AsSpan(16));
        File.WriteAllBytes(Path.Combine(Heads, name), name.EndsWith("glb", StringComparison.Ordinal) ? [.. header, .. json] : json);
        Assert.Equal(0, Run());
        _placed.Clear();
        Assert.Equal(0, Run("--resume"));
        Assert.Empty(_placed);

        byte[] beside = File.ReadAllBytes(Path.Combine(Heads, changed));
        beside[0] ^= 1; // the last bit of the first coordinate
        File.WriteAllBytes(Path.Combine(Heads, changed), beside);
        Assert.Equal(0, Run("--resume"));
        Assert.Equal([name], _placed);
    }

    [Fact]
    public void Output_that_is_a_file_is_6()
    {
        WriteHeads("a.glb", "b.glb");
        File.WriteAllText(Result, "taken");

        Assert.Equal(6, Run());

        Assert.Contains(Result, _error.ToString(), StringComparison.Ordinal);
    }

    private string[] Finished() =>
        Directory.Exists(Result) ? Directory.GetFiles(Result, "outcome.json", SearchOption.AllDirectories) : [];

    private int Run(params string[] more) => CommandLine.Run(["bulk", Heads, "-o", Result, .. more], Session());

    private CommandSession Session()
    {
        _output.GetStringBuilder().Clear();
        (_output.NewLine, _error.NewLine) = ("\n", "\n");
        return new CommandSession(_output, _error, () => Place, _interrupted.IsCancellationRequested ? default : _interrupted.Token);
    }

    private PlacementResult Place(HeadScan scan, PlacementOptions options, CancellationToken cancellation)
    {
        lock (_lock)
        {
            _placed.Add(Path.GetFileName(scan.Source));
        }

        return _outcome(scan, SampleHead.Result(SampleGltf.Frame, scan) with { Lattice = options.Lattice });
    }

    private void WriteHeads(params string[] names)
    {
        foreach (string name in names)
        {
            File.WriteAllBytes(Path.Combine(Heads, name), SampleGltf.Plain());
        }
    }

    private string Write(string name, string content)
    {
        string path = Path.Combine(Heads, name);
        File.WriteAllText(path, content);
        return path;
    }
}
