using System.Numerics;
using AutoPlace.Geometry;

namespace AutoPlace.Registration;

/// <summary>The map from a head back to the atlas: the inverse of the map that places the atlas on it.</summary>
public sealed class HeadToAtlas
{
    /// <summary>Variance of each coordinate at which the inverse's first guess follows the control points: where the map nearly folds, as between the lips, they contradict each other.</summary>
    private const double GuessVariance = 1e-4;

    /// <summary>Rounds by which the first guess is set right.</summary>
    private const int Rounds = 3;

    /// <summary>A round moves no farther than this, interocular distances, so that a fold can't throw a point away.</summary>
    private const double MostStep = 0.05;

    private readonly HeadWarp _toHead;
    private readonly HeadWarp _guess;
    private readonly PreparedTemplate _atlas;
    private readonly BoundingVolumeHierarchy? _apart;

    /// <summary>Inverts a map.</summary>
    /// <param name="atlas">The template that was shaped after the atlas.</param>
    /// <param name="controls">Points of it with their places on the head.</param>
    /// <param name="toHead">The map from it to the head.</param>
    public HeadToAtlas(PreparedTemplate atlas, IReadOnlyList<ControlPoint> controls, HeadWarp toHead)
    {
        ArgumentNullException.ThrowIfNull(atlas);
        ArgumentNullException.ThrowIfNull(controls);
        ArgumentNullException.ThrowIfNull(toHead);
        (_atlas, _toHead) = (atlas, toHead);
        _guess = HeadWarp.Fit(
            atlas.Head,
            [.. controls.Select(c => new ControlPoint(_toHead.ApplyOnLip(c.Atlas, c.Lip), _toHead.Apart(c.Atlas, c.Lip), GuessVariance))],
            []);
        _apart = _toHead.IsOpen
            ? new(atlas.Skin.WithPositions([.. Enumerable.Range(0, atlas.Skin.VertexCount).Select(v => (Vector3)_toHead.Apart(atlas.Skin.Positions[v], atlas.Lips[v]))]))
            : null;
    }

    /// <summary>The atlas point that a point of the head corresponds to.</summary>
    /// <param name="head">Point, head frame, interocular distances.</param>
    public Vector3d Apply(Vector3d head)
    {
        Vector3d first = _guess.Apply(head), apart = first;
        for (int round = 0; round < Rounds; round++)
        {
            Vector3d step = first - _guess.Apply(_toHead.Apply(apart));
            double length = step.Length;
            apart += length > MostStep ? step * (MostStep / length) : step;
        }

        return Together(apart);
    }

    // Where the mouth is open, the map starts from lips drawn apart: a point belongs to the one that it lies at there.
    private Vector3d Together(Vector3d apart) => _apart is null
        ? apart
        : _toHead.Apart(apart, -_atlas.Lips.At(_atlas.Skin, _apart.ClosestPoint((Vector3)apart).Point));
}
