using AutoPlace.Geometry;

namespace AutoPlace.Registration.Correcting;

/// <summary>Puts a landmark where it belongs; the lattice is laid over the head anew with it as certain.</summary>
/// <param name="Landmark">Name of the landmark.</param>
/// <param name="Position">Where it belongs, head frame, interocular distances; one of the skin goes to the skin's nearest point.</param>
public sealed record MoveLandmark(string Landmark, Vector3d Position) : Edit
{
    /// <inheritdoc/>
    internal override Corrections Apply(Revision at)
    {
        if (!Position.IsFinite)
        {
            throw new CorrectionException(Landmark, "the position has to be finite");
        }

        // By the map as the program found it, by which it is looked for on another version of the head: not as other moves bent it.
        LandmarkCorrection set = at.Head.With(Corrections.None).Fixed(Landmark, Position)
            ?? throw new CorrectionException(Landmark, "the program laid the lattice by no such landmark");
        return at.Corrections.With(set with { Note = Note ?? at.Corrections.Landmarks.GetValueOrDefault(Landmark)?.Note });
    }
}

/// <summary>Gives a landmark back to the program.</summary>
/// <param name="Landmark">Name of the landmark.</param>
public sealed record UnlockLandmark(string Landmark) : Edit
{
    /// <inheritdoc/>
    internal override Corrections Apply(Revision at) => at.Corrections.WithoutLandmark(Landmark);
}
