using AutoPlace.Conditioning;
using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>A point of the head's surface and the atlas point that it is.</summary>
/// <param name="Head">Point on the mesh, head frame, interocular distances.</param>
/// <param name="Normal">Unit normal there, head frame, towards the viewer who saw it.</param>
/// <param name="Atlas">The corresponding atlas point.</param>
/// <param name="Sigma">Standard deviation of the correspondence, interocular distances, positive.</param>
/// <param name="OnEyeball">True when the point is on an eyeball rather than on skin.</param>
public readonly record struct Correspondence(Vector3d Head, Vector3d Normal, Vector3d Atlas, double Sigma, bool OnEyeball)
{
    /// <summary>The same correspondence in another head frame of the same file.</summary>
    /// <param name="from">Frame that it is in.</param>
    /// <param name="to">Frame to give it in.</param>
    public Correspondence Reframed(HeadFrame from, HeadFrame to)
    {
        ArgumentNullException.ThrowIfNull(from);
        ArgumentNullException.ThrowIfNull(to);
        return this with
        {
            Head = to.ToHead(from.ToFile(Head)),
            Normal = to.DirectionToHead(from.DirectionToFile(Normal)),
            Sigma = Sigma * from.InterocularDistance / to.InterocularDistance,
        };
    }
}
