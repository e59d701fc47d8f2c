namespace AutoPlace.TrainingData.Meshing;

/// <summary>Material groups whose borders a file may show.</summary>
internal enum Material : byte
{
    /// <summary>Skin, and everything in files with one material.</summary>
    Skin,

    /// <summary>White of the eye.</summary>
    Sclera,

    /// <summary>Iris and pupil.</summary>
    Iris,

    /// <summary>Vermilion of the lips.</summary>
    Lips,

    /// <summary>Brows, modelled or painted.</summary>
    Brows,

    /// <summary>Hair of head and beard.</summary>
    Hair,

    /// <summary>Teeth.</summary>
    Teeth,

    /// <summary>Tongue, gums and mouth bag.</summary>
    Mouth,

    /// <summary>Things worn.</summary>
    Clothes,

    /// <summary>Anything else.</summary>
    Other,
}
