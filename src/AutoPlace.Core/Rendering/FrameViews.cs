using System.Numerics;
using AutoPlace.Conditioning;

namespace AutoPlace.Rendering;

/// <summary>Views that are defined in the head frame, as views of the file, so that no mesh has to be moved to look at it.</summary>
public static class FrameViews
{
    /// <summary>The view of the file that shows what a view of the head frame shows.</summary>
    /// <param name="frame">Where the head is in the file.</param>
    /// <param name="headView">View in the head frame, interocular distances.</param>
    public static OrthographicView InFile(this HeadFrame frame, in OrthographicView headView)
    {
        ArgumentNullException.ThrowIfNull(frame);
        return new OrthographicView(
            (Vector3)frame.ToFile(headView.Centre),
            (Vector3)frame.DirectionToFile(headView.Right),
            (Vector3)frame.DirectionToFile(headView.Up),
            (Vector3)frame.DirectionToFile(headView.Toward),
            (float)(headView.HalfSize * frame.InterocularDistance),
            headView.Size);
    }
}
