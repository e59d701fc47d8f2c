namespace AutoPlace.TrainingData.Morphable;

/// <summary>What a vertex of the morphable head belongs to. The order is that of the vertex ranges.</summary>
internal enum Part : byte
{
    /// <summary>Front of the face, ears included.</summary>
    Face,

    /// <summary>Scalp, back of the head, neck.</summary>
    Scalp,

    /// <summary>Bag behind the lips.</summary>
    MouthSocket,

    /// <summary>Bag behind the lids.</summary>
    EyeSocketLeft,

    /// <summary>Bag behind the lids.</summary>
    EyeSocketRight,

    /// <summary>Gums and tongue.</summary>
    GumsTongue,

    /// <summary>Upper teeth.</summary>
    UpperTeeth,

    /// <summary>Lower teeth.</summary>
    LowerTeeth,

    /// <summary>Eyeball.</summary>
    EyeballLeft,

    /// <summary>Eyeball.</summary>
    EyeballRight,

    /// <summary>Tear fluid and blending shells over the eyeballs.</summary>
    EyeShells,

    /// <summary>Shading shells over the eyeballs.</summary>
    EyeOcclusion,

    /// <summary>Lashes.</summary>
    Lashes,
}

/// <summary>
/// How the vertices of a morphable head are arranged: vertex ranges of its parts and the vertices of its contours.
/// </summary>
/// <param name="PartFirst">First vertex of each <see cref="Part"/>, in the order of the enumeration; parts follow one another without gaps.</param>
/// <param name="Contour68">Vertices of the 68 face-contour points, the subject's right first.</param>
/// <param name="JawRight">Jaw line of the right side, from the ear to the chin.</param>
/// <param name="JawLeft">Jaw line of the left side, from the chin to the ear.</param>
internal sealed record MorphableLayout(int[] PartFirst, int[] Contour68, int[] JawRight, int[] JawLeft)
{
    /// <summary>Layout of the ICT Face Model Light, as its documentation states it.</summary>
    public static MorphableLayout FaceModelLight { get; } = new(
        [0, 9409, 11248, 13294, 13678, 14062, 17039, 19247, 21451, 23021, 24591, 25047, 25351],
        [
            1225, 1888, 1052, 367, 1719, 1722, 2199, 1447, 966, 3661, 4390, 3927, 3924, 2608, 3272, 4088, 3443,
            268, 493, 1914, 2044, 1401, 3615, 4240, 4114, 2734, 2509,
            978, 4527, 4942, 4857, 1140, 2075, 1147, 4269, 3360,
            1507, 1542, 1537, 1528, 1518, 1511, 3742, 3751, 3756, 3721, 3725, 3732,
            5708, 5695, 2081, 0, 4275, 6200, 6213, 6346, 6461, 5518, 5957, 5841,
            5702, 5711, 5533, 6216, 6207, 6470, 5517, 5966,
        ],
        [1278, 1272, 12, 1834, 243, 781, 2199, 1447],
        [3661, 4390, 3022, 2484, 4036, 2253, 3490, 3496]);

    /// <summary>The part of a vertex.</summary>
    public Part PartOf(int vertex)
    {
        int part = PartFirst.Length - 1;
        while (part > 0 && vertex < PartFirst[part])
        {
            part--;
        }

        return (Part)part;
    }

    /// <summary>First vertex of a part and the one behind its last.</summary>
    public (int First, int End) Range(Part part, int vertexCount) =>
        (PartFirst[(int)part], (int)part + 1 < PartFirst.Length ? PartFirst[(int)part + 1] : vertexCount);
}
