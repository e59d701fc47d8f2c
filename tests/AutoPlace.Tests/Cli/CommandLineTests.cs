using System.Text;
using System.Text.Json.Nodes;
using AutoPlace.Cli;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Template;
using AutoPlace.Tests.Export;
using AutoPlace.Verification;
using SharpGLTF.Schema2;
using Xunit;

namespace AutoPlace.Tests.Cli;

/// <summary>Whole calls of the command in this process, on files of the sample head, with a placer that knows its placement.</summary>
public sealed class CommandLineTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("autoplace-").FullName;
    private readonly CancellationTokenSource _interrupted = new();
    private readonly StringWriter _output = new();
    private readonly StringWriter _error = new();

    private Placer _placer = static (scan, options, _) => PlaceSample(scan, options);

    public void Dispose()
    {
        Directory.Delete(_folder, recursive: true);
        _interrupted.Dispose();
    }

    [Theory]
    [InlineData("--help")]
    [InlineData("--version")]
    [InlineData("place --help")]
    [InlineData("evaluate --help")]
    [InlineData("bulk --help")]
    [InlineData("template check --help")]
    [InlineData("template from --help")]
    public void Help_and_version_are_no_errors(string call)
    {
        Assert.Equal(0, Run(call.Split(' ')));
        Assert.NotEmpty(_output.ToString());
        Assert.Empty(_error.ToString());
    }

    [Theory]
    [InlineData("")]
    [InlineData("frobnicate")]
    [InlineData("place")]
    [InlineData("place a.glb --nonsense")]
    [InlineData("place a.glb --up north")]
    [InlineData("place a.glb --up z --front -z")]
    [InlineData("place a.glb --lattice half")]
    [InlineData("place a.glb b.glb --keep c.json")]
    [InlineData("check a.glb --nonsense")]
    [InlineData("check a.glb")]
    [InlineData("render a.glb")]
    [InlineData("evaluate")]
    [InlineData("bulk heads")]
    [InlineData("bulk -o out")]
    [InlineData("template")]
    [InlineData("serve --urls ;")]
    [InlineData("template check a.json b.json")]
    [InlineData("template from a.glb")]
    [InlineData("template from a.glb rig.json -o")]
    public void Wrong_usage_is_2_with_a_message(string call)
    {
        Assert.Equal(2, Run(call.Split(' ', StringSplitOptions.RemoveEmptyEntries)));
        Assert.Contains("--help", _error.ToString(), StringComparison.Ordinal);
        Assert.Empty(_output.ToString());
    }

    /// <summary>In the words of the command line, not of the program's types.</summary>
    [Theory]
    [InlineData("place a.glb --lattice half", "--lattice: 'half' is neither full nor reduced.")]
    [InlineData("place a.glb --lattice 1", "--lattice: '1' is neither full nor reduced.")]
    [InlineData("place a.glb --up north", "--up: 'north' is none of x, -x, y, -y, z, -z.")]
    [InlineData("render a.glb -o out --front up", "--front: 'up' is none of x, -x, y, -y, z, -z.")]
    [InlineData("serve --queue many", "--queue: 'many' is no whole number from 1 to 2147483647.")]
    [InlineData("serve --queue 0", "--queue: '0' is no whole number from 1 to 2147483647.")]
    [InlineData("serve --max-upload 99999999999", "--max-upload: '99999999999' is no whole number from 1 to 2147483647.")]
    [InlineData("serve --retention soon", "--retention: 'soon' is no time such as 30d, 12h or 45m.")]
    public void Value_that_an_option_does_not_take_is_named_with_those_that_it_takes(string call, string said)
    {
        Assert.Equal(2, Run(call.Split(' ')));
        Assert.Equal(said, _error.ToString().Split('\n')[0]);
    }

    [Fact]
    public void Place_writes_all_files_and_summarises()
    {
        string head = WriteHead("mira.glb");

        Assert.Equal(0, Run("place", head, "-o", Out("result")));

        Assert.Equal(
            ["joints.csv", "lattice.png", "placement.glb", "placement.json"],
            Directory.EnumerateFileSystemEntries(Out("result")).Select(Path.GetFileName).Order(StringComparer.Ordinal));
        using FileStream json = File.OpenRead(Path.Combine(Out("result"), "placement.json"));
        PlacementDocument document = PlacementJson.Read(json, "placement.json");
        ModelRoot model = ModelRoot.Load(Path.Combine(Out("result"), "placement.glb"));
        Assert.All(document.Joints, j => Assert.Contains(model.LogicalNodes, n => n.Name == j.Name));
        int count = SampleHead.Lattice.Joints.Count;
        Assert.Contains($"mira.glb: {count} joints ({count} modelled", _output.ToString(), StringComparison.Ordinal);
        Assert.Empty(_error.ToString());
    }

    [Theory]
    [InlineData(0.4, -0.3, "left eye looks ahead\n")]
    [InlineData(12.2, -4.8, "left eye looks 12 degrees left and 5 down\n")]
    [InlineData(-0.4, 0.7, "left eye looks 0 degrees right and 1 up\n")]
    public void Place_says_where_an_eye_looks(double yaw, double pitch, string said)
    {
        _placer = (scan, options, _) => PlaceSample(scan, options) with
        {
            Neutral = new Dictionary<string, double> { [NeutralState.GazeLeftYawDegrees] = yaw, [NeutralState.GazeLeftPitchDegrees] = pitch },
        };

        Assert.Equal(0, Run("place", WriteHead("mira.glb"), "-o", Out("result")));
        Assert.Contains(said, _output.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void Place_with_json_prints_the_placement_that_it_wrote()
    {
        Assert.Equal(0, Run("place", WriteHead("mira.glb"), "-o", Out("result"), "--json"));

        Assert.Equal(File.ReadAllText(Path.Combine(Out("result"), "placement.json")), _output.ToString());
    }

    /// <summary>JSON Lines: each head's placement on a line of its own, in the order of the call; one that fails has none.</summary>
    [Fact]
    public void Several_heads_with_json_are_a_line_each()
    {
        string first = WriteHead("mira.glb"), bad = Write("broken.glb", "not a mesh"), second = WriteHead("other.glb");

        Assert.Equal(3, Run("place", first, bad, second, "-o", Out("result"), "--json"));

        string[] lines = _output.ToString().Split('\n');
        Assert.Equal(["mira", "other", ""], lines.Select(line => line.Length == 0 ? "" : Path.GetFileNameWithoutExtension((string?)JsonNode.Parse(line)!["head"]!["source"])));
        foreach ((string line, string name) in lines.Zip((string[])["mira", "other"]))
        {
            string file = File.ReadAllText(Path.Combine(Out("result"), $"{name}.placement", "placement.json"));
            Assert.True(JsonNode.DeepEquals(JsonNode.Parse(file), JsonNode.Parse(line)));
        }
    }

    [Fact]
    public void Several_heads_get_a_folder_each_and_the_worst_code_counts()
    {
        string good = WriteHead("mira.glb"), bad = Write("broken.glb", "not a mesh");

        Assert.Equal(3, Run("place", bad, good, "-o", Out("result")));

        Assert.Equal([Path.Combine(Out("result"), "mira.placement")], Directory.GetFileSystemEntries(Out("result")));
    }

    [Fact]
    public void Heads_of_one_name_get_folders_of_their_own_each_time_the_same()
    {
        Directory.CreateDirectory(Path.Combine(_folder, "more"));
        string first = WriteHead("mira.glb"), second = WriteHead(Path.Combine("more", "mira.glb"));
        File.Copy(first, Path.Combine(_folder, "mira.gltf"));
        for (int run = 0; run < 2; run++)
        {
            Assert.Equal(0, Run("place", first, second, Path.Combine(_folder, "mira.gltf"), "-o", Out("result")));
            Assert.Equal(
                ["mira-2.placement", "mira-3.placement", "mira.placement"],
                Directory.EnumerateDirectories(Out("result")).Select(Path.GetFileName).Order(StringComparer.Ordinal));
        }

        using FileStream json = File.OpenRead(Path.Combine(Out("result"), "mira-3.placement", "placement.json"));
        Assert.Equal("mira.gltf", PlacementJson.Read(json, "placement.json").Head.Source);
    }

    [Fact]
    public void Options_reach_the_placer()
    {
        PlacementOptions? seen = null;
        _placer = (scan, options, _) =>
        {
            seen = options;
            return PlaceSample(scan, options);
        };

        Run("place", WriteHead("mira.glb"), "-o", Out("r"), "--up", "-z", "--front", "x", "--part", "face", "--part", "eyes", "--symmetric", "--lattice", "reduced");

        Assert.NotNull(seen);
        Assert.Equal(-Vector3d.UnitZ, seen.Up);
        Assert.Equal(Vector3d.UnitX, seen.Front);
        Assert.Equal(["face", "eyes"], seen.Parts);
        Assert.True(seen.Symmetric);
        Assert.Equal(LatticeExtent.Reduced, seen.Lattice);
    }

    public static TheoryData<string, string, string> BrokenFiles => new()
    {
        { "missing.glb", "", "missing.glb" },
        { "empty.obj", "", "empty" },
        { "text.glb", "this is no binary file", "text.glb" },
        { "nan.obj", "v 0 0 0\nv 1 0 0\nv nan 1 0\nf 1 2 3\n", "line 3" },
        { "range.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 7\n", "line 4" },
        { "truncated.ply", "ply\nformat ascii 1.0\nelement vertex 3\nproperty float x\n", "truncated.ply" },
        { "head.fbx", "Kaydara FBX Binary", "glTF" },
    };

    [Theory]
    [MemberData(nameof(BrokenFiles))]
    public void Unreadable_head_is_3_and_named(string name, string content, string said)
    {
        string path = name.StartsWith("missing", StringComparison.Ordinal) ? Path.Combine(_folder, name) : Write(name, content);

        Assert.Equal(3, Run("place", path, "-o", Out("result")));

        Assert.Contains(path, _error.ToString(), StringComparison.Ordinal);
        Assert.Contains(said, _error.ToString(), StringComparison.Ordinal);
        Assert.False(Directory.Exists(Out("result")));
        Assert.Empty(_output.ToString());
    }

    /// <summary>The rig is read before the head is looked at.</summary>
    [Theory]
    [InlineData("rig.json", "{\"joints\": []}", "the rig has no joint")]
    [InlineData("rig.txt", "no rig", "no rig")]
    public void Rig_that_cant_be_used_is_3_and_named(string name, string content, string said)
    {
        _placer = static (_, _, _) => throw new InvalidOperationException("not to be called");
        string rig = Write(name, content);

        Assert.Equal(3, Run("template", "from", WriteHead("mira.glb"), rig, "-o", Out("t.json")));

        Assert.StartsWith($"{rig}: ", _error.ToString(), StringComparison.Ordinal);
        Assert.Contains(said, _error.ToString(), StringComparison.Ordinal);
        Assert.False(File.Exists(Out("t.json")));
    }

    /// <summary>Template files are edited by hand.</summary>
    [Theory]
    [InlineData("eyes", "landmarks", "eye_centre_right")]
    [InlineData("skin", "mesh.parts", "'skin'")]
    [InlineData("balls", "mesh.parts", "eyeballRadius")]
    public void Template_that_lost_what_placing_needs_is_3(string lost, string element, string said)
    {
        JsonNode root = JsonNode.Parse(TemplateWriter.Write(BuiltInTemplate.Load()))!;
        if (lost == "eyes")
        {
            Assert.True(root["landmarks"]!.AsObject().Remove("eye_centre_right"));
        }

        string template = Write("t.json", lost switch
        {
            "skin" => root.ToJsonString().Replace("\"skin\"", "\"teeth\"", StringComparison.Ordinal).Replace("\"ride\":\"teeth\"", "\"ride\":\"skin\"", StringComparison.Ordinal),
            "balls" => root.ToJsonString().Replace("\"eyeball_", "\"ball_", StringComparison.Ordinal),
            _ => root.ToJsonString(),
        });

        Assert.Equal(3, Run("place", WriteHead("mira.glb"), "--template", template, "-o", Out("result")));

        Assert.StartsWith($"{template}: {element}: ", _error.ToString(), StringComparison.Ordinal);
        Assert.Contains(said, _error.ToString(), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData(9)]
    [InlineData(601)]
    public void Template_of_too_few_or_too_many_joints_is_3(int joints)
    {
        ControlJoint[] row = [.. Enumerable.Range(0, joints).Select(i => SampleHead.Lattice.Joints[0] with { Name = $"joint{i}" })];
        string template = Write("t.json", Encoding.UTF8.GetString(TemplateWriter.Write(BuiltInTemplate.Load() with
        {
            Lattice = new JointLattice([.. row, row[0] with { Name = "marker", Kind = JointKind.Other }], [], []),
            ReducedJoints = [],
            Coverage = new Dictionary<string, IReadOnlyList<string>>(),
        })));

        Assert.Equal(3, Run("place", WriteHead("mira.glb"), "--template", template, "-o", Out("result")));

        Assert.StartsWith($"{template}: joints: ", _error.ToString(), StringComparison.Ordinal);
        Assert.Contains($"{joints} joints", _error.ToString(), StringComparison.Ordinal);
        Assert.Contains("10 to 600", _error.ToString(), StringComparison.Ordinal);
    }

    /// <summary>A template of one level has no reduced lattice; one whose file names its joints has.</summary>
    [Theory]
    [InlineData("place")]
    [InlineData("bulk")]
    public void Reduced_lattice_of_a_template_without_one_is_wrong_usage(string verb)
    {
        WriteHead("mira.glb");
        TemplateHead own = BuiltInTemplate.Load() with { Name = "face" };
        string without = Write("one.json", Encoding.UTF8.GetString(TemplateWriter.Write(own with { ReducedJoints = [] })));
        string with = Write("two.json", Encoding.UTF8.GetString(TemplateWriter.Write(own)));
        string heads = verb == "bulk" ? Write("heads.txt", "mira.glb") : Path.Combine(_folder, "mira.glb");

        Assert.Equal(0, Run(verb, heads, "--template", with, "--lattice", "reduced", "-o", Out("with")));
        Assert.Equal(0, Run(verb, heads, "--template", without, "-o", Out("full")));
        _output.GetStringBuilder().Clear();
        Assert.Equal(2, Run(verb, heads, "--template", without, "--lattice", "reduced", "-o", Out("without")));

        Assert.Contains("--lattice reduced: ", _error.ToString(), StringComparison.Ordinal);
        Assert.Contains(without, _error.ToString(), StringComparison.Ordinal);
        Assert.Contains("\"reduced\"", _error.ToString(), StringComparison.Ordinal);
        Assert.Empty(_output.ToString());
        Assert.False(Directory.Exists(Out("without")));
    }

    [Fact]
    public void Truncated_binary_head_is_3()
    {
        string path = Path.Combine(_folder, "cut.glb");
        File.WriteAllBytes(path, SampleGltf.Plain()[..5000]);

        Assert.Equal(3, Run("place", path, "-o", Out("result")));
        Assert.Contains("cut.glb", _error.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void No_head_is_4()
    {
        _placer = static (scan, _, _) => throw new HeadNotFoundException(scan.Source, "no view shows a face");

        Assert.Equal(4, Run("place", WriteHead("cube.glb"), "-o", Out("result")));
        Assert.Equal(
            "cube.glb: no view shows a face\n"
            + "If there is one, --up and --front together say so, and which way it is turned; --part NAME says which parts of the file are its own.\n",
            _error.ToString());
        Assert.False(Directory.Exists(Out("result")));
    }

    /// <summary>What the call says already isn't advised.</summary>
    [Theory]
    [InlineData("--up y", "If there is one, --up and --front together say so, and which way it is turned; --part NAME says which parts of the file are its own.\n")]
    [InlineData("--up y --front z", "If there is one, --part NAME says which parts of the file are its own.\n")]
    [InlineData("--part face", "If there is one, --up and --front together say so, and which way it is turned.\n")]
    [InlineData("--up y --front z --part face", "")]
    public void No_head_is_answered_with_what_was_not_tried(string options, string advice)
    {
        _placer = static (scan, _, _) => throw new HeadNotFoundException(scan.Source, "no view shows a face");

        Assert.Equal(4, Run(["render", WriteHead("cube.glb"), "-o", Out("result"), .. options.Split(' ')]));
        Assert.Equal($"cube.glb: no view shows a face\n{advice}", _error.ToString());
    }

    [Fact]
    public void File_of_one_part_has_none_to_choose()
    {
        _placer = static (scan, _, _) => throw new HeadNotFoundException(scan.Source, "no view shows a face");

        Assert.Equal(4, Run("place", Write("plain.obj", "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"), "-o", Out("result")));
        Assert.DoesNotContain("--part", _error.ToString(), StringComparison.Ordinal);
    }

    /// <summary>Sunken joints, as corrections leave them, are no sign of hair or a hat over the face.</summary>
    [Theory]
    [InlineData(0.05, false)]
    [InlineData(0.6, true)]
    public void Parts_are_advised_where_the_head_may_be_misunderstood(double misunderstood, bool advised)
    {
        _placer = (scan, options, _) => PlaceSample(scan, options) with
        {
            Confidence = new HeadConfidence([], misunderstood),
            NeedsPerson = new NeedsPerson(0.8, []),
        };

        Run("place", WriteHead("mira.glb"), "-o", Out("result"));

        Assert.Equal(advised, _error.ToString().Contains("--part", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData("face", "eyeball_left", "--part NAME for each part of a head says which one is meant; parts are face, eyeball_left, eyeball_right\n")]
    [InlineData("at (0, 1, 2)", "at (3, 1, 2)", "they share a part of the file, so for another one a file of its own is needed\n")]
    public void Which_of_several_heads_was_placed_is_said(string placed, string other, string advice)
    {
        _placer = (scan, options, _) => PlaceSample(scan, options) with { Confidence = new HeadConfidence([], 0.05) { PlacedHead = placed, OtherHeads = [other] } };
        string head = WriteHead("two.glb");

        Assert.Equal(0, Run("place", head, "-o", Out("result")));

        Assert.Equal($"{head}: one of several heads was placed, not placed: {other}; placed: {placed}; {advice}", _error.ToString());
    }

    [Fact]
    public void Summary_says_what_failed_once_and_by_how_much()
    {
        _placer = static (scan, options, _) => PlaceSample(scan, options) with
        {
            Findings =
            [
                new Finding("clearance", Severity.Error, "menton", -0.02004, -0.02, "IOD", "menton lies under the skin."),
                new Finding("row-turn", Severity.Info, "brow", 45.02, 45, "degrees", "brow turns by 45 degrees."),
                new Finding("twins", Severity.Info, "brow_left", 0, 1, "count", "brow_left has no twin."),
            ],
            NeedsPerson = new NeedsPerson(0.6, ["subnasale was not seen", "menton lies under the skin"]),
        };

        Assert.Equal(5, Run("place", WriteHead("mira.glb"), "-o", Out("result")));

        Assert.Contains(
            "needs a person: 60 %; subnasale was not seen; 1 error below\n"
            + "  error: clearance: menton lies under the skin. (-0.02004, limit -0.02)\n"
            + "  note: row-turn: brow turns by 45 degrees. (45.02, limit 45)\n"
            + "  note: twins: brow_left has no twin.\n",
            _output.ToString(),
            StringComparison.Ordinal);
    }

    [Fact]
    public void Failed_check_is_5_and_the_files_are_there()
    {
        _placer = static (scan, options, _) => PlaceSample(scan, options) with
        {
            Findings = [new Finding("clearance", Severity.Error, "menton", -0.1, -0.02, "IOD", "menton lies under the skin.")],
        };

        Assert.Equal(5, Run("place", WriteHead("mira.glb"), "-o", Out("result")));
        Assert.Contains("error: clearance: menton lies under the skin.", _output.ToString(), StringComparison.Ordinal);
        Assert.True(File.Exists(Path.Combine(Out("result"), "placement.json")));
    }

    [Fact]
    public void Output_that_is_a_file_is_6()
    {
        string taken = Write("taken", "");

        Assert.Equal(6, Run("place", WriteHead("mira.glb"), "-o", taken));
        Assert.Contains(taken, _error.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void Interruption_is_130_and_leaves_nothing()
    {
        _placer = (scan, options, cancellation) =>
        {
            PlacementResult result = PlaceSample(scan, options);
            _interrupted.Cancel();
            return result;
        };

        Assert.Equal(130, Run("place", WriteHead("mira.glb"), WriteHead("other.glb"), "-o", Out("result")));
        Assert.False(Directory.Exists(Out("result")));
    }

    [Fact]
    public void Standard_output_that_takes_no_more_is_6()
    {
        using var full = new FullWriter();
        var session = new CommandSession(full, _error, () => _placer, _interrupted.Token);

        Assert.Equal(6, CommandLine.Run(["place", WriteHead("mira.glb"), "-o", Out("result")], session));
        Assert.Equal("standard output: can't be written: no space", _error.ToString().TrimEnd());
    }

    [Fact]
    public void Bug_is_70()
    {
        _placer = static (_, _, _) => throw new InvalidOperationException("a bug");

        Assert.Equal(70, Run("place", WriteHead("mira.glb"), "-o", Out("result")));
        Assert.Equal("internal error: a bug\n", _error.ToString());
    }

    [Fact]
    public void Check_finds_nothing_in_a_flawless_placement()
    {
        string head = WriteHead("mira.glb");
        Run("place", head, "-o", Out("result"));

        Assert.Equal(0, Run("check", head, Path.Combine(Out("result"), "placement.json")));
        Assert.EndsWith("findings: 0 errors, 0 warnings, 0 notes\n", _output.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void Check_finds_a_joint_moved_by_hand()
    {
        string head = WriteHead("mira.glb");
        Run("place", head, "-o", Out("result"));
        string path = Path.Combine(Out("result"), "placement.json");
        JsonNode root = JsonNode.Parse(File.ReadAllText(path))!;
        JsonNode zygion = root["joints"]!.AsArray().Single(j => (string?)j!["name"] == "zygion_left")!;
        zygion["position"]![0] = (double)zygion["position"]![0]! - 0.02;
        File.WriteAllText(path, root.ToJsonString());

        Assert.Equal(5, Run("check", head, path));
        Assert.Contains("error: clearance: zygion_left", _output.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void Template_that_is_missing_is_3_and_named()
    {
        Assert.Equal(3, Run("template", "check", Path.Combine(_folder, "nowhere.json")));
        Assert.Contains("nowhere.json", _error.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void Check_of_something_else_is_3()
    {
        string notes = Write("notes.json", "{\"format\": \"other\"}");

        Assert.Equal(3, Run("check", WriteHead("mira.glb"), notes));
        Assert.Contains(notes, _error.ToString(), StringComparison.Ordinal);
    }

    [Fact]
    public void Render_writes_depth_and_normals_of_each_view()
    {
        Assert.Equal(0, Run("render", WriteHead("mira.glb"), "-o", Out("views")));

        Assert.Equal(12, Directory.GetFiles(Out("views"), "*.png").Length);
        Assert.Equal(6, Directory.GetFiles(Out("views"), "*_depth.png").Length);
    }

    [Fact]
    public void Verbose_announces_on_the_error_stream_only()
    {
        Assert.Equal(0, Run("place", WriteHead("mira.glb"), "-o", Out("result"), "--json", "--verbose"));

        Assert.Contains("vertices", _error.ToString(), StringComparison.Ordinal);
        Assert.StartsWith("{", _output.ToString(), StringComparison.Ordinal);
    }

    private int Run(params string[] arguments)
    {
        _output.NewLine = "\n";
        _error.NewLine = "\n";
        return CommandLine.Run(arguments, new CommandSession(_output, _error, () => _placer, _interrupted.Token));
    }

    private string Out(string name) => Path.Combine(_folder, name);

    private string WriteHead(string name)
    {
        string path = Path.Combine(_folder, name);
        File.WriteAllBytes(path, SampleGltf.Plain());
        return path;
    }

    private string Write(string name, string content)
    {
        string path = Path.Combine(_folder, name);
        File.WriteAllBytes(path, Encoding.UTF8.GetBytes(content));
        return path;
    }

    private static PlacementResult PlaceSample(HeadScan scan, PlacementOptions options) =>
        SampleHead.Result(SampleGltf.Frame, scan) with { Lattice = options.Lattice };

    private sealed class FullWriter : StringWriter
    {
        public override void Flush() => throw new IOException("no space");
    }
}
