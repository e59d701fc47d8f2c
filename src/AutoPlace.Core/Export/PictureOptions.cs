using AutoPlace.Rendering;

namespace AutoPlace.Export;

/// <summary>One panel of a picture.</summary>
/// <param name="Caption">Text in its corner; may be empty.</param>
/// <param name="View">What it shows; the number of pixels is the picture's choice.</param>
public sealed record PictureView(string Caption, OrthographicView View);

/// <summary>How a picture of a lattice is drawn.</summary>
public sealed record PictureOptions
{
    /// <summary>The panels from the upper left, row by row.</summary>
    public IReadOnlyList<PictureView> Views { get; init; } = Sheet;

    /// <summary>Pixels a side of each panel, 32 to 2048.</summary>
    public int PanelSize { get; init; } = 480;

    /// <summary>Panels side by side.</summary>
    public int Columns { get; init; } = 3;

    /// <summary>True to draw the skin pale and what lies under it nearly as clear as what lies on it.</summary>
    public bool SeeThrough { get; init; }

    /// <summary>True for a list of the regions and their markers after the last panel.</summary>
    public bool Legend { get; init; } = true;

    /// <summary>
    /// Height in the head frame at which the picture has faded out, so that a body doesn't hide the chin from below;
    /// interocular distances. The mean head's chin is at -1.8.
    /// </summary>
    public float Floor { get; init; } = -2.5f;

    /// <summary>
    /// True to move each view over the head, neck apart, and to enlarge or shrink all of them together until it fits.
    /// </summary>
    public bool Fit { get; init; } = true;

    /// <summary>Front, three-quarter, from below, right profile, left profile.</summary>
    public static IReadOnlyList<PictureView> Sheet { get; } =
    [
        View("front", 0, 0), View("three-quarter", 38, 8), View("from below", 0, -48),
        View("right profile", -90, 0), View("left profile", 90, 0),
    ];

    /// <summary>Front, three-quarter and right profile side by side, small: for a sheet of many heads.</summary>
    public static PictureOptions Strip { get; } =
        new() { Views = [Sheet[0], Sheet[1], Sheet[3]], PanelSize = 300, Columns = 3, Legend = false };

    private static PictureView View(string caption, float yaw, float pitch) =>
        new(caption, OrthographicView.Around(new(0, -0.1f, -0.7f), yaw, pitch, 2.2f, 1));
}
