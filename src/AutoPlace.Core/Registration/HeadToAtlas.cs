using AutoPlace.Geometry;
using AutoPlace.Template;

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

    /// <summary>Inverts a registration.</summary>
    /// <param name="atlas">The template that was shaped after the atlas.</param>
    /// <param name="registration">Where it is on the head.</param>
    public HeadToAtlas(TemplateHead atlas, HeadRegistration registration)
    {
        ArgumentNullException.ThrowIfNull(registration);
        _toHead = registration.Warp;
        _guess = HeadWarp.Fit(
            atlas, [.. registration.Controls.Select(control => new ControlPoint(_toHead.Apply(control.Atlas), control.Atlas, GuessVariance))], []);
    }

    /// <summary>The atlas point that a point of the head corresponds to.</summary>
    /// <param name="head">Point, head frame, interocular distances.</param>
    public Vector3d Apply(Vector3d head)
    {
        Vector3d first = _guess.Apply(head), atlas = first;
        for (int round = 0; round < Rounds; round++)
        {
            Vector3d step = first - _guess.Apply(_toHead.Apply(atlas));
            double length = step.Length;
            atlas += length > MostStep ? step * (MostStep / length) : step;
        }

        return atlas;
    }
}
