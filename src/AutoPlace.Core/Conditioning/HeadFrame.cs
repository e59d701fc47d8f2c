using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Conditioning;

/// <summary>
/// Where a head is in its file. The head frame has its origin midway between the eye centres, +X to the subject's
/// left, +Y up, +Z anterior. <see cref="ToHead(Vector3d)"/> gives coordinates in interocular distances, the unit of
/// the atlas; multiply by the interocular distance in metres for metres. Left, up and front are unit vectors at right
/// angles; they are left-handed when the file's own coordinates are mirrored.
/// </summary>
/// <param name="Origin">Midpoint of the eye centres, file coordinates.</param>
/// <param name="Left">The subject's left, unit vector in file coordinates.</param>
/// <param name="Up">Up, unit vector in file coordinates.</param>
/// <param name="Front">Anterior, unit vector in file coordinates.</param>
/// <param name="InterocularDistance">Distance between the eye centres in the file's unit, positive.</param>
public sealed record HeadFrame(Vector3d Origin, Vector3d Left, Vector3d Up, Vector3d Front, double InterocularDistance)
{
    /// <summary>File coordinates to the head frame in interocular distances.</summary>
    public Vector3d ToHead(Vector3d filePoint)
    {
        Vector3d d = filePoint - Origin;
        return new Vector3d(Vector3d.Dot(d, Left), Vector3d.Dot(d, Up), Vector3d.Dot(d, Front)) / InterocularDistance;
    }

    /// <summary>Head frame in interocular distances to file coordinates.</summary>
    public Vector3d ToFile(Vector3d headPoint) => Origin + (DirectionToFile(headPoint) * InterocularDistance);

    /// <summary>A direction of the head frame in file coordinates; length is kept.</summary>
    public Vector3d DirectionToFile(Vector3d headDirection) =>
        (Left * headDirection.X) + (Up * headDirection.Y) + (Front * headDirection.Z);

    /// <summary>A direction of the file in the head frame; length is kept.</summary>
    public Vector3d DirectionToHead(Vector3d fileDirection) =>
        new(Vector3d.Dot(fileDirection, Left), Vector3d.Dot(fileDirection, Up), Vector3d.Dot(fileDirection, Front));

    /// <summary>
    /// The frame whose origin and unit the eye centres define. Its left axis stays: the eyes of a turned or asymmetric
    /// head needn't lie across it.
    /// </summary>
    /// <param name="eyeLeft">The left eye's centre, file coordinates.</param>
    /// <param name="eyeRight">The right eye's centre, file coordinates.</param>
    public HeadFrame WithEyes(Vector3d eyeLeft, Vector3d eyeRight)
    {
        double distance = Vector3d.Distance(eyeLeft, eyeRight);
        return distance > 0 ? this with { Origin = (eyeLeft + eyeRight) * 0.5, InterocularDistance = distance } : this;
    }

    /// <summary>Whether another frame is much the same.</summary>
    /// <param name="other">The other frame.</param>
    /// <param name="leastTrace">Least trace of the turn from one to the other: 1 + 2 cos of its angle.</param>
    /// <param name="mostApart">Most distance of the origins in the larger interocular distance.</param>
    /// <param name="mostScale">Largest ratio of the interocular distances.</param>
    internal bool IsLike(HeadFrame other, double leastTrace, double mostApart, double mostScale)
    {
        double small = Math.Min(InterocularDistance, other.InterocularDistance), large = Math.Max(InterocularDistance, other.InterocularDistance);
        return Vector3d.Dot(Left, other.Left) + Vector3d.Dot(Up, other.Up) + Vector3d.Dot(Front, other.Front) >= leastTrace
            && Vector3d.Distance(Origin, other.Origin) <= mostApart * large
            && large <= mostScale * small;
    }

    /// <summary>Maps positions to the head frame, single precision, interocular distances.</summary>
    /// <param name="filePositions">V positions in file coordinates.</param>
    public Vector3[] ToHead(ReadOnlySpan<Vector3> filePositions)
    {
        var result = new Vector3[filePositions.Length];
        for (int v = 0; v < result.Length; v++)
        {
            result[v] = (Vector3)ToHead((Vector3d)filePositions[v]);
        }

        return result;
    }
}
