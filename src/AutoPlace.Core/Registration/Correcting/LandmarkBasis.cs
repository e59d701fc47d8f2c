using AutoPlace.Geometry;
using AutoPlace.Landmarks;

namespace AutoPlace.Registration.Correcting;

/// <summary>The landmarks that a lattice was laid by, and the way to lay it anew.</summary>
/// <param name="Seen">Landmarks as the program found them, head frame.</param>
/// <param name="Atlas">The template's landmarks by name, atlas coordinates.</param>
/// <param name="Set">Landmarks that a person set and the lattice is laid by.</param>
/// <param name="IsSymmetric">True when left and right are treated as each other's mirror image, and with a landmark its mirror image is set.</param>
/// <param name="LayAnew">Lays the lattice by other set landmarks.</param>
internal sealed record LandmarkBasis(
    IReadOnlyList<Landmark> Seen,
    IReadOnlyDictionary<string, Vector3d> Atlas,
    IReadOnlyList<LandmarkCorrection> Set,
    bool IsSymmetric,
    Func<IReadOnlyList<LandmarkCorrection>, CorrectableHead> LayAnew)
{
    /// <summary>True for a landmark that the lattice is laid by.</summary>
    public bool Has(string name) => Atlas.ContainsKey(name) && Seen.Any(l => l.Name == name);

    /// <summary>Atlas point of a landmark inside the head: as far from the template's as the position is from where the program found it.</summary>
    public Vector3d ToAtlas(string name, Vector3d position) => Atlas[name] + (position - Seen.First(l => l.Name == name).Position);

    /// <summary>The way back, for a landmark that has an atlas point.</summary>
    public Vector3d FromAtlas(LandmarkCorrection landmark) =>
        Seen.First(l => l.Name == landmark.Landmark).Position + (landmark.AtlasPoint!.Value - Atlas[landmark.Landmark]);
}
