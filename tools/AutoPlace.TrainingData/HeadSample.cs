using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Meshing;

namespace AutoPlace.TrainingData;

/// <summary>A finished head in its head frame (interocular distances), ready to be seen.</summary>
internal sealed record HeadSample
{
    /// <summary>Number of the head within its seed.</summary>
    public required int Number { get; init; }

    /// <summary>Kind of the head.</summary>
    public required HeadKind Kind { get; init; }

    /// <summary>The mesh; V vertices, T triangles.</summary>
    public required TriangleMesh Mesh { get; init; }

    /// <summary>V unit normals, or T when <see cref="Flat"/>.</summary>
    public required Vector3[] Normals { get; init; }

    /// <summary>Shaded by one normal for each triangle.</summary>
    public required bool Flat { get; init; }

    /// <summary>V atlas points; meaningful for skin and eyeballs.</summary>
    public required Vector3[] Atlas { get; init; }

    /// <summary>T classes.</summary>
    public required SurfaceClass[] Classes { get; init; }

    /// <summary>T materials.</summary>
    public required Material[] Materials { get; init; }

    /// <summary>Landmark positions in the order of the network's channels.</summary>
    public required Vector3[] Landmarks { get; init; }

    /// <summary>How far each landmark's feature, a piece of its own, lies from the model's own as deformed.</summary>
    public required Vector3[] Replaced { get; init; }

    /// <summary>The model's vertices as deformed, whether the mesh has them or not; meaningless of what is no head.</summary>
    public required Vector3[] Shape { get; init; }

    /// <summary>How each landmark exists on this head.</summary>
    public required LandmarkState[] States { get; init; }

    /// <summary>How far behind the surface seen a landmark may lie and still count as visible, interocular distances.</summary>
    public required float[] Tolerance { get; init; }
}

/// <summary>How a landmark exists on a head.</summary>
internal enum LandmarkState : byte
{
    /// <summary>The feature doesn't exist, and its place can't be told.</summary>
    Absent,

    /// <summary>The feature isn't modelled, but its place can be told; never visible.</summary>
    Implied,

    /// <summary>The feature exists.</summary>
    Modelled,
}
