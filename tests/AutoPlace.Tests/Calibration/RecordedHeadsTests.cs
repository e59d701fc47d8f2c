using System.IO.Compression;
using AutoPlace.Calibration;
using AutoPlace.Import;
using AutoPlace.Tests.TrainingData;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Sampling;
using AutoPlace.Verification;
using Xunit;

namespace AutoPlace.Tests.Calibration;

public sealed class RecordedHeadsTests : IDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("calibration-").FullName;

    public void Dispose() => Directory.Delete(_folder, recursive: true);

    [Fact]
    public void What_was_recorded_is_read_by_the_columns_names()
    {
        string[] features = [.. HeadFeatures.Names.Reverse()], own = [.. LandmarkFeatures.Names];
        string name = Path.Combine(_folder, "record");
        Write(
            name + "-heads.csv.gz",
            "head,kind,place,taken,frameError,off,offSeen,medianError," + string.Join(',', features),
            $"7,Realistic,0,0,90,1,1,0.5,{string.Join(',', features.Select(_ => "0"))}",
            $"7,Realistic,1,1,1.5,0.25,0.2,0.02,{string.Join(',', Enumerable.Range(0, features.Length))}",
            $"8,NonHead,0,0,,,,{new string(',', features.Length)}");
        Write(
            name + "-landmarks.csv.gz",
            "head,kind,name,truth,error," + string.Join(',', own),
            $"7,Realistic,subnasale,2,0.03,{string.Join(',', own.Select(_ => "0.5"))}",
            $"7,Realistic,menton,0,,{string.Join(',', own.Select(_ => "0.5"))}");
        string[] joint = [.. JointFeatures.Names];
        Write(
            name + "-joints.csv.gz",
            "head,kind,name,error," + string.Join(',', joint),
            $"7,Realistic,brow_1_left,0.04,{string.Join(',', Enumerable.Range(0, joint.Length))}");

        RecordedHeads records = RecordedHeads.Read([name]);

        Assert.Equal([true, true, false], records.Places.Select(p => p.IsOfHead));
        Assert.Equal([false, true, false], records.Places.Select(p => p.IsTaken));
        Assert.Equal(features.Length - 1, records.Places[1].Features[0]);
        Assert.Empty(records.Places[2].Features);
        Assert.Equal([true, false], records.Landmarks.Select(l => l.IsKnown));
        Assert.Same(records.Places[1], records.Landmarks[0].Place);
        PlacedJoint placed = Assert.Single(records.Joints);
        Assert.Same(records.Places[1], placed.Place);
        Assert.Equal(("brow_1_left", 0.04, 2), (placed.Name, placed.Error, placed.Features[2]));
        Assert.Equal((0.03, true), (records.Landmarks[0].Error, records.Landmarks[0].IsModelled));
    }

    [Fact]
    public void Column_that_is_missing_is_named()
    {
        string name = Path.Combine(_folder, "record");
        Write(name + "-heads.csv.gz", "head,kind,place,taken,frameError,off");
        Write(name + "-landmarks.csv.gz", "head");

        Assert.Contains("'agreement'", Assert.Throws<FormatException>(() => RecordedHeads.Read([name])).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Posed_head_has_its_landmarks_where_its_mesh_went()
    {
        HeadSample sample = TrainingHeads.Random(4, HeadKind.Realistic);
        var posed = PosedHead.Draw(sample, new SeededRandom(3, 1, 4));

        HeadScan scan = posed.ToScan();

        // Truth rides on the mesh: the nearest vertex is as near in the file, in its unit.
        foreach (System.Numerics.Vector3 landmark in sample.Landmarks.Take(20))
        {
            double before = sample.Mesh.Indices.ToArray().Min(v => System.Numerics.Vector3.Distance(sample.Mesh.Positions[v], landmark));
            double after = scan.Mesh.Positions.ToArray().Min(p => System.Numerics.Vector3.Distance(p, posed.ToFile(landmark))) / posed.Pose.Unit;
            Assert.Equal(before, after, 1e-4);
        }
    }

    private static void Write(string path, params string[] lines)
    {
        using var writer = new StreamWriter(new GZipStream(File.Create(path), CompressionLevel.Fastest)) { NewLine = "\n" };
        foreach (string line in lines)
        {
            writer.WriteLine(line);
        }
    }
}
