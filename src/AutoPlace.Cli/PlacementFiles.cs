using AutoPlace.Export;
using AutoPlace.Import;
using SixLabors.ImageSharp;

namespace AutoPlace.Cli;

/// <summary>The files of a placement: placement.json, joints.csv, placement.glb, lattice.png.</summary>
internal static class PlacementFiles
{
    /// <summary>Writes them all or none.</summary>
    /// <param name="folder">Folder that receives them.</param>
    /// <param name="headPath">The head's file, whose meshes go into the GLB.</param>
    /// <param name="result">The placement.</param>
    /// <param name="document">The same, in file coordinates.</param>
    /// <param name="cancellation">Checked before each file, and last before they appear.</param>
    /// <exception cref="OutputException">They can't be written.</exception>
    internal static void Write(
        string folder, string headPath, PlacementResult result, PlacementDocument document, CancellationToken cancellation)
    {
        using var output = new OutputFolder(folder);
        Add("placement.json", stream => PlacementJson.Write(document, stream));
        Add("joints.csv", stream => JointsCsv.Write(document, stream));
        Add("placement.glb", stream => WriteGlb(headPath, result, stream));
        Add("lattice.png", stream =>
        {
            using Image picture = Picture(result);
            picture.SaveAsPng(stream);
        });
        cancellation.ThrowIfCancellationRequested();
        output.Commit();

        void Add(string name, Action<Stream> write)
        {
            cancellation.ThrowIfCancellationRequested();
            output.Add(name, write);
        }
    }

    /// <summary>The head with its lattice from several sides.</summary>
    internal static Image Picture(PlacementResult result) => LatticePicture.Draw(PictureContent.Of(
        result.HeadMesh, Geometry.VertexNormals.AngleWeighted(result.HeadMesh), result.Placement));

    private static void WriteGlb(string headPath, PlacementResult result, Stream stream)
    {
        if (result.Scan.Format != MeshFormat.Gltf)
        {
            GltfPlacementWriter.Write(result, stream);
            return;
        }

        using FileStream source = File.OpenRead(headPath);
        GltfPlacementWriter.Write(result, source, FilesBeside.Of(headPath), stream);
    }
}
