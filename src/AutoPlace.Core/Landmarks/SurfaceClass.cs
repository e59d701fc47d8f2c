namespace AutoPlace.Landmarks;

/// <summary>What a pixel shows, in the order of the network's channels.</summary>
public enum SurfaceClass
{
    /// <summary>Nothing.</summary>
    Background,

    /// <summary>Skin of face, scalp, ears, neck.</summary>
    HeadSkin,

    /// <summary>Eyeball.</summary>
    Eyeball,

    /// <summary>Teeth, gums, tongue, mouth bag.</summary>
    MouthInterior,

    /// <summary>Hair, brows, beard, hat, glasses and other things on the head.</summary>
    OnHead,

    /// <summary>Body, clothes, anything else.</summary>
    Other,
}
