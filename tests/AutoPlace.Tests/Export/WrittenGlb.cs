using System.Collections.Concurrent;
using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Export;
using AutoPlace.Geometry;

namespace AutoPlace.Tests.Export;

/// <summary>A placement.glb of the sample head.</summary>
/// <param name="Glb">The file.</param>
/// <param name="Result">The placement in it.</param>
/// <param name="Source">The glTF file that the head came in; null for another format.</param>
internal sealed record WrittenGlb(byte[] Glb, PlacementResult Result, byte[]? Source)
{
    /// <summary>Height of the sample head in interocular distances, which tolerances are shares of.</summary>
    internal const float HeadHeight = 3.7f;

    private static readonly ConcurrentDictionary<string, Lazy<WrittenGlb>> Known = new();

    /// <summary>
    /// The file of a kind of source: a scan in centimetres with Z up or in mirrored coordinates; glTF: the head alone, the
    /// head of a character, of one whose default pose isn't its bind pose, and of one with everything else a file may hold.
    /// </summary>
    internal static WrittenGlb Of(string kind) => Known.GetOrAdd(kind, static k => new(() => k switch
    {
        "z-up" => OfScan(SampleHead.ZUpCentimetres),
        "mirrored" => OfScan(SampleHead.Mirrored),
        "plain" => OfGltf(SampleGltf.Plain(), SampleGltf.Frame),
        "character" => OfGltf(SampleGltf.Character(), SampleGltf.Frame),
        "posed" => OfGltf(SampleGltf.PosedCharacter(), SampleGltf.PosedFrame),
        _ => OfGltf(SampleGltf.BusyCharacter(), SampleGltf.Frame),
    })).Value;

    /// <summary>Where the file says that a joint of the placement is, metres.</summary>
    internal Vector3 Expected(PlacedJoint joint)
    {
        PlacementDocument document = FileCoordinates.Describe(Result);
        AxisAlignment alignment = AxisAlignment.Of(document.Head.Frame, document.Head.MetresPerUnit);
        Vector3d p = joint.Position, s = alignment.Scale;
        return (Vector3)alignment.Rotation.Rotate(new Vector3d(p.X * s.X, p.Y * s.Y, p.Z * s.Z));
    }

    /// <summary>What joints and vertices may be off by: 1e-5 of the head's height, metres.</summary>
    internal float Tolerance => 1e-5f * HeadHeight * (float)(Result.Frame.InterocularDistance * Result.MetresPerUnit);

    private static WrittenGlb OfScan(HeadFrame frame)
    {
        using var output = new MemoryStream();
        PlacementResult result = SampleHead.Result(frame);
        GltfPlacementWriter.Write(result, output);
        return new(output.ToArray(), result, null);
    }

    private static WrittenGlb OfGltf(byte[] file, HeadFrame frame)
    {
        using var output = new MemoryStream();
        PlacementResult result = SampleGltf.Place(file, frame);
        GltfPlacementWriter.Write(result, new MemoryStream(file), null, output);
        return new(output.ToArray(), result, file);
    }
}
