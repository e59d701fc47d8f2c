using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Registration.Correcting;
using AutoPlace.Template;
using AutoPlace.Verification;

namespace AutoPlace;

/// <summary>How long a stage took.</summary>
/// <param name="Stage">Name of the stage, one of the nine.</param>
/// <param name="Milliseconds">Wall-clock time.</param>
public sealed record StageTiming(string Stage, double Milliseconds);

/// <summary>Which landmark network a placement was made with.</summary>
/// <param name="Name">Name of the model.</param>
/// <param name="Version">Version of the model.</param>
/// <param name="Sha256">SHA-256 of the network's file, lower-case hexadecimal.</param>
public sealed record ModelIdentity(string Name, string Version, string Sha256);

/// <summary>Whether a person should look at the placement before it is used.</summary>
/// <param name="Probability">Probability in [0, 1] that it needs correcting.</param>
/// <param name="Reasons">Why, for a person; empty when nothing stands out.</param>
public sealed record NeedsPerson(double Probability, IReadOnlyList<string> Reasons);

/// <summary>Everything known about a head after its lattice was placed. Immutable.</summary>
public sealed record PlacementResult
{
    /// <summary>The file as read.</summary>
    public required HeadScan Scan { get; init; }

    /// <summary>Where the head is in the file.</summary>
    public required HeadFrame Frame { get; init; }

    /// <summary>Metres for each unit of the file: as the format defines it, else as inferred from the head's size.</summary>
    public required double MetresPerUnit { get; init; }

    /// <summary>
    /// State of the face against the neutral one, by name ("jawAngleDegrees", "lidApertureLeft", …); the unit is in
    /// the name, without one it is a fraction in [0, 1]. Empty when nothing was measured.
    /// </summary>
    public IReadOnlyDictionary<string, double> Neutral { get; init; } = new Dictionary<string, double>();

    /// <summary>Whether a person should look at it.</summary>
    public required NeedsPerson NeedsPerson { get; init; }

    /// <summary>
    /// The triangles that <see cref="JointPlacement.SkinPoint"/> and the landmarks refer to: the whole scan, head
    /// frame, interocular distances.
    /// </summary>
    public required TriangleMesh HeadMesh { get; init; }

    /// <summary>
    /// The head's skin alone (no eyeballs, mouth interior, hair, clothes): what the clearance of surface joints is
    /// measured to, and what the lattice deforms. The vertices are those of <see cref="HeadMesh"/>, in the same order;
    /// there are only fewer triangles.
    /// </summary>
    public required BoundingVolumeHierarchy Skin { get; init; }

    /// <summary>Landmarks found or inferred.</summary>
    public required IReadOnlyList<Landmark> Landmarks { get; init; }

    /// <summary>The template that was placed.</summary>
    public required TemplateHead Template { get; init; }

    /// <summary>Which of its joints were placed.</summary>
    public required LatticeExtent Lattice { get; init; }

    /// <summary>The network that found the landmarks.</summary>
    public required ModelIdentity Model { get; init; }

    /// <summary>Where the atlas is on this head; null when the template was carried over vertex by vertex.</summary>
    public HeadRegistration? Registration { get; init; }

    /// <summary>The joints on this head.</summary>
    public required LatticePlacement Placement { get; init; }

    /// <summary>What a person corrected; <see cref="Placement"/> has it in it.</summary>
    public Corrections Corrections { get; init; } = Corrections.None;

    /// <summary>The head with its lattice ready for corrections; null when the placement was made elsewhere.</summary>
    public CorrectableHead? Correctable { get; init; }

    /// <summary>How sure the reading of the head is, before corrections; null when the placement was made elsewhere.</summary>
    public HeadConfidence? Confidence { get; init; }

    /// <summary>Agreement of the head finder's last look with a head's front view, in [0, 1].</summary>
    public double Agreement { get; init; }

    /// <summary>Outcome of the checks.</summary>
    public required IReadOnlyList<Finding> Findings { get; init; }

    /// <summary>Time taken by each stage, in the order of the path.</summary>
    public required IReadOnlyList<StageTiming> Timings { get; init; }
}
