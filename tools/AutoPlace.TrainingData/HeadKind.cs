namespace AutoPlace.TrainingData;

/// <summary>What an example is; the values are those of the records.</summary>
internal enum HeadKind : byte
{
    /// <summary>Human proportions.</summary>
    Realistic = 0,

    /// <summary>Strongly warped proportions.</summary>
    StrongWarp = 1,

    /// <summary>Stylised: features replaced, painted or left out.</summary>
    Stylised = 2,

    /// <summary>A head in a wrong axis frame or crop (a property of the view).</summary>
    WrongFrame = 3,

    /// <summary>No head at all.</summary>
    NonHead = 4,
}
