namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>
/// Loops that a person marked, by looking at the mesh from the front and askew: the rim of the lids against the ball, the
/// line where the lips touch, the ridge of the vermilion border. Each is given by one of its edges.
/// </summary>
internal static class MarkedLoops
{
    /// <summary>For the folder of a head of an evaluation: two neighbouring vertices of each loop, and the rows that belong on it.</summary>
    public static IReadOnlyDictionary<string, (int From, int To, string[] Rows)[]> Known { get; } = new Dictionary<string, (int, int, string[])[]>
    {
        ["assimp-human"] =
        [
            (1147, 1150, ["lid_upper_margin_right", "lid_lower_margin_right"]),
            (7832, 7833, ["lid_upper_margin_left", "lid_lower_margin_left"]),
            (440, 441, ["lip_upper_contact", "lip_lower_contact"]),
            (392, 395, ["lip_upper_border", "lip_lower_border"]),
        ],
    };
}
