using AutoPlace.Export;
using AutoPlace.Import;

namespace AutoPlace.Cli;

/// <summary>The files of a placement: placement.json, joints.csv, placement.glb, lattice.png, and corrections.json where there are any.</summary>
internal static class PlacementFiles
{
    /// <summary>Name of the picture.</summary>
    internal const string PictureName = "lattice.png";

    /// <summary>Name of the file with the meshes and the lattice.</summary>
    internal const string MeshName = "placement.glb";

    private const string PlacementName = "placement.json", TableName = "joints.csv";

    /// <summary>Names of the files that every placement has.</summary>
    internal static ReadOnlySpan<string> OfEveryPlacement => new[] { PlacementName, TableName, MeshName, PictureName };

    /// <summary>Writes them all or none.</summary>
    /// <param name="folder">Folder that receives them.</param>
    /// <param name="headPath">The head's file, whose meshes go into the GLB.</param>
    /// <param name="result">The placement.</param>
    /// <param name="document">The same, in file coordinates.</param>
    /// <param name="cancellation">Checked before each file, and last before they appear.</param>
    /// <param name="picture">How the picture is drawn; null for the whole sheet.</param>
    /// <exception cref="OutputException">They can't be written.</exception>
    internal static void Write(
        string folder, string headPath, PlacementResult result, PlacementDocument document, CancellationToken cancellation, PictureOptions? picture = null)
    {
        using var output = new OutputFolder(folder);
        Task<byte[]> png = Task.Run(() => LatticePicture.Png(result, picture), cancellation);
        Add(PlacementName, stream => PlacementJson.Write(document, stream));
        if (!result.Corrections.IsEmpty)
        {
            Add(KeepFile.Name, stream => CorrectionsJson.Write(CorrectionCoordinates.Describe(result), stream));
        }

        Add(TableName, stream => JointsCsv.Write(document, stream));
        Add(MeshName, stream => GltfPlacementWriter.Write(result, () => File.OpenRead(headPath), FilesBeside.Of(headPath), stream));
        Add(PictureName, stream => stream.Write(png.GetAwaiter().GetResult()));
        cancellation.ThrowIfCancellationRequested();
        output.Commit();

        void Add(string name, Action<Stream> write)
        {
            cancellation.ThrowIfCancellationRequested();
            output.Add(name, write);
        }
    }
}
