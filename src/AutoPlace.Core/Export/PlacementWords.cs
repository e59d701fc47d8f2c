using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.Verification;

namespace AutoPlace.Export;

/// <summary>The words that placement files use for the values of enumerations, in the order of the enumerations.</summary>
internal static class PlacementWords
{
    internal static readonly string[] Levels = ["full", "reduced"];
    internal static readonly string[] Sides = ["left", "right", "middle"];
    internal static readonly string[] Kinds = ["surface", "pivot", "row-parent", "attachment", "other"];
    internal static readonly string[] States = ["modelled", "inferred", "absent"];
    internal static readonly string[] Sources = ["network", "sphere-fit", "lock", "inferred"];
    internal static readonly string[] Severities = ["info", "warning", "error"];

    internal static string Of(LatticeExtent level) => Levels[(int)level];

    internal static string? Of(Side? side) => side is null ? null : Sides[(int)side];

    internal static string Of(JointKind kind) => Kinds[(int)kind];

    internal static string Of(JointState state) => States[(int)state];

    internal static string Of(LandmarkSource source) => Sources[(int)source];

    internal static string Of(Severity severity) => Severities[(int)severity];
}
