namespace AutoPlace.TrainingData.Meshing;

/// <summary>What a pixel shows; the values are those of the network's classes.</summary>
internal enum SurfaceClass : byte
{
    /// <summary>Nothing.</summary>
    Background = 0,

    /// <summary>Face, scalp, ears, neck.</summary>
    Skin = 1,

    /// <summary>Eyeball.</summary>
    Eyeball = 2,

    /// <summary>Teeth, gums, tongue, mouth bag.</summary>
    MouthInterior = 3,

    /// <summary>Hair, brow, beard, hat, glasses and other things on the head.</summary>
    OnHead = 4,

    /// <summary>Body, clothes, anything else.</summary>
    Other = 5,
}

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
