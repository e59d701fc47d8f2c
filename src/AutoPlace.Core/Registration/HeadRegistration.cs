namespace AutoPlace.Registration;

/// <summary>What links a template's coordinates to a head, before any joint is placed.</summary>
public sealed record HeadRegistration
{
    /// <summary>True when left and right are treated as each other's mirror image.</summary>
    public required bool IsSymmetric { get; init; }

    /// <summary>What is known of the head; <see cref="HeadEvidence.AtlasToHead"/> comes from the template's coordinates.</summary>
    public required HeadEvidence Evidence { get; init; }

    /// <summary>Points of the template with their places on the head.</summary>
    public required IReadOnlyList<ControlPoint> Controls { get; init; }

    /// <summary>The smooth map from the template to the head.</summary>
    public required HeadWarp Warp { get; init; }

    /// <summary>The map from the template to what lies in the mouth.</summary>
    public required MouthFit Mouth { get; init; }
}
