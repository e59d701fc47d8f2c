namespace AutoPlace.Landmarks;

/// <summary>A landmark network as it is kept on disk: model.json, and beside it the ONNX file that it names.</summary>
public sealed class LandmarkModel
{
    /// <summary>Name of a model's description.</summary>
    public const string DescriptionFile = "model.json";

    private const string Kind = "landmark model", Format = "autoplace.landmark-model";

    private LandmarkModel(NetworkFile file) => File = file;

    /// <summary>Where it lies.</summary>
    public string Folder => File.Folder;

    /// <summary>The model's name.</summary>
    public string Name => File.Name;

    /// <summary>The model's own version.</summary>
    public string Version => File.Version;

    /// <summary>SHA-256 of the ONNX file, lower-case hexadecimal.</summary>
    public string Sha256 => File.Sha256;

    /// <summary>What was read.</summary>
    internal NetworkFile File { get; }

    /// <summary>Folder of the models that come with the program, one folder for each version.</summary>
    public static string DefaultFolder => Path.Combine(AppContext.BaseDirectory, "models", "landmarks");

    /// <summary>The model that comes with the program; of several, the one whose folder's name sorts last.</summary>
    /// <exception cref="LandmarkModelException">There is none, or it can't be used.</exception>
    public static LandmarkModel OpenDefault() => Open(NetworkFile.Newest(Kind, DefaultFolder));

    /// <summary>Reads a model and checks that it is whole and made for this program.</summary>
    /// <param name="folder">Folder with model.json and the ONNX file that it names.</param>
    /// <exception cref="LandmarkModelException">
    /// A file is missing or damaged, or the model was made for another contract; the message names file and reason, and
    /// both contracts.
    /// </exception>
    public static LandmarkModel Open(string folder) => new(NetworkFile.Read(Kind, Format, ModelContract.Sha256, folder));

    /// <summary>Loads the network; the caller disposes of it.</summary>
    /// <exception cref="LandmarkModelException">The ONNX file isn't a network of this contract.</exception>
    public LandmarkNetwork CreateNetwork() => new(this);
}
