using System.Numerics;

namespace AutoPlace.Rendering;

/// <summary>
/// The views that the landmark network looks at, head frame, interocular distances: the whole head first, then the
/// face close up, each from the front and from 35 degrees on either side.
/// </summary>
public static class ViewRing
{
    /// <summary>Half the side of the square that a whole view shows.</summary>
    public const float WholeHalfSize = 2.0f;

    /// <summary>Half the side of the square that a close view shows.</summary>
    public const float CloseHalfSize = 1.35f;

    /// <summary>Pixels a side of the network's input.</summary>
    public const int InputSize = 256;

    /// <summary>Middle of a whole view.</summary>
    public static Vector3 WholeCentre => new(0, -0.55f, -0.5f);

    /// <summary>Middle of a close view.</summary>
    public static Vector3 CloseCentre => new(0, -0.70f, 0.30f);

    /// <summary>Yaw of each view in degrees, in the order of the lists; positive shows the subject's left.</summary>
    public static IReadOnlyList<float> YawsInDegrees { get; } = [0, 35, -35];

    /// <summary>All views in order, each by what it shows, "whole" or "close", and from where: "front", "left" or "right".</summary>
    /// <param name="size">Pixels a side.</param>
    public static IReadOnlyList<(string Shown, string Side, OrthographicView View)> All(int size = InputSize) =>
        [.. Named("whole", Whole(size)), .. Named("close", Close(size))];

    /// <summary>The views of the whole head.</summary>
    /// <param name="size">Pixels a side.</param>
    public static IReadOnlyList<OrthographicView> Whole(int size = InputSize) => Around(WholeCentre, WholeHalfSize, size);

    /// <summary>The close views of the face.</summary>
    /// <param name="size">Pixels a side.</param>
    public static IReadOnlyList<OrthographicView> Close(int size = InputSize) => Around(CloseCentre, CloseHalfSize, size);

    private static IEnumerable<(string Shown, string Side, OrthographicView View)> Named(string shown, IReadOnlyList<OrthographicView> views) =>
        views.Zip(YawsInDegrees, (view, yaw) => (shown, yaw == 0 ? "front" : yaw > 0 ? "left" : "right", view));

    private static OrthographicView[] Around(Vector3 centre, float halfSize, int size)
    {
        var views = new OrthographicView[YawsInDegrees.Count];
        for (int i = 0; i < views.Length; i++)
        {
            views[i] = OrthographicView.Around(centre, YawsInDegrees[i], 0, halfSize, size);
        }

        return views;
    }
}
