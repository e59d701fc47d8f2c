using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using AutoPlace.Tests.Demo;
using AutoPlace.Tests.Export;
using AutoPlace.Tests.Rigs;
using Xunit;

namespace AutoPlace.Tests.Cli;

/// <summary>The way of an own rig by the real executable: a template from it, checked, placed on another head.</summary>
public sealed class OwnRigProcessTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("autoplace-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    /// <summary>A rig of one side in centimetres, for a head in metres: all that can be said of it is said, and all joints land on another head.</summary>
    [Fact]
    public void Rig_becomes_a_template_that_checks_and_lands_on_another_head()
    {
        TruthFile truth = DemoFolder.Truths["maren"], other = DemoFolder.Truths["tibb"];
        List<RigJoint> rig = DemoRig.Of(truth);
        rig = rig.Only([.. rig.Select(joint => joint.Name).Where(name => !name.EndsWith("_right", StringComparison.Ordinal))]);
        rig = [.. rig.Select(joint => joint with { Position = joint.Position * 100 })];
        File.WriteAllBytes(At("face.json"), rig.ToJson());

        AutoplaceProcess.Outcome made = AutoplaceProcess.Run("template", "from", truth.MeshPath, At("face.json"), "-o", At("t.json"));
        Assert.True(made.ExitCode == 0, made.Error);
        Assert.Contains("face: 203 joints", made.Output, StringComparison.Ordinal);
        Assert.Contains("multiplied by 0.01", made.Output, StringComparison.Ordinal);
        Assert.Contains("83 were added on the other side", made.Output, StringComparison.Ordinal);
        Assert.Equal(["face.json", "t.json"], Directory.EnumerateFileSystemEntries(_folder).Select(Path.GetFileName).Order(StringComparer.Ordinal));

        AutoplaceProcess.Outcome check = AutoplaceProcess.Run("template", "check", At("t.json"));
        Assert.Equal(0, check.ExitCode);
        Assert.Contains("203 of 203 joints come back", check.Output, StringComparison.Ordinal);

        AutoplaceProcess.Outcome placed = AutoplaceProcess.Run("place", other.MeshPath, "--template", At("t.json"), "-o", At("placed"));
        Assert.True(placed.ExitCode is 0 or 5, placed.Error);
        string file = Path.Combine(At("placed"), "placement.json");
        PlacementDocument document = Read(file);
        Assert.Equal(rig.Select(joint => joint.Name), document.Joints.Take(rig.Count).Select(joint => joint.Name));
        Assert.InRange(document.Joints.Average(joint => Vector3d.Distance(joint.Position, other.Joints[joint.Name])) / other.InterocularDistance, 0, 0.04);
        GltfValidator.AssertNoErrors(File.ReadAllBytes(Path.Combine(At("placed"), "placement.glb")));

        AutoplaceProcess.Outcome judged = AutoplaceProcess.Run("check", other.MeshPath, file, "--template", At("t.json"));
        Assert.Equal(placed.ExitCode, judged.ExitCode);
        File.WriteAllText(file, File.ReadAllText(file).Replace("\"name\": \"face\"", "\"name\": \"mask\"", StringComparison.Ordinal));
        AutoplaceProcess.Outcome another = AutoplaceProcess.Run("check", other.MeshPath, file, "--template", At("t.json"));
        Assert.Equal(3, another.ExitCode);
        Assert.Contains("template.name", another.Error, StringComparison.Ordinal);
        Assert.Contains("'mask'", another.Error, StringComparison.Ordinal);
    }

    private static PlacementDocument Read(string file)
    {
        using FileStream json = File.OpenRead(file);
        return PlacementJson.Read(json, file);
    }

    private string At(string name) => Path.Combine(_folder, name);
}
