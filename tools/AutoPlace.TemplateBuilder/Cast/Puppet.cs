using AutoPlace.TemplateBuilder.Heads;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>One of the cast: a shape, how its mesh is made, how its file is written.</summary>
internal sealed record Puppet
{
    /// <summary>Name, also of its files.</summary>
    public required string Name { get; init; }

    /// <summary>Change of the whole head.</summary>
    public required ShapeChange Change { get; init; }

    /// <summary>Eyes.</summary>
    public EyeShape Eyes { get; init; } = EyeShape.Same;

    /// <summary>Changes of one side.</summary>
    public IReadOnlyList<JointShift> Shifts { get; init; } = [];

    /// <summary>Adds all pieces of the mesh.</summary>
    public required Action<PuppetBuilder> Build { get; init; }

    /// <summary>A body with a skin of its own, for a whole figure; atlas coordinates.</summary>
    public Func<PolygonMeshBuilder, FigureSkin>? Figure { get; init; }

    /// <summary>Format, unit and axes.</summary>
    public required FileForm Form { get; init; }
}
