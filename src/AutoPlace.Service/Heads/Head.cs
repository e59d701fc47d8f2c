namespace AutoPlace.Service.Heads;

/// <summary>A head that was uploaded.</summary>
public sealed record Head
{
    /// <summary>Opaque name.</summary>
    public required string Id { get; init; }

    /// <summary>Name of the file as uploaded, without folder.</summary>
    public required string Name { get; init; }

    /// <summary>Size of the file.</summary>
    public required long Bytes { get; init; }

    /// <summary>SHA-256 of the file, lower-case hexadecimal.</summary>
    public required string Sha256 { get; init; }

    /// <summary>Format by its contents: gltf, obj, ply, stl, off.</summary>
    public required string Format { get; init; }

    /// <summary>Number of vertices.</summary>
    public required int Vertices { get; init; }

    /// <summary>Number of faces as modelled.</summary>
    public required int Faces { get; init; }

    /// <summary>Its parts, in file order.</summary>
    public required IReadOnlyList<HeadPart> Parts { get; init; }

    /// <summary>Metres for each unit where the format defines it.</summary>
    public double? MetresPerUnit { get; init; }

    /// <summary>When it was uploaded.</summary>
    public required DateTimeOffset CreatedAt { get; init; }
}

/// <summary>A part of a head.</summary>
/// <param name="Name">Its name, unique within the head.</param>
/// <param name="Vertices">Vertices that its faces use.</param>
/// <param name="Faces">Faces as modelled.</param>
public sealed record HeadPart(string Name, int Vertices, int Faces);

/// <summary>All heads, newest first.</summary>
/// <param name="Heads">The heads.</param>
public sealed record HeadList(IReadOnlyList<Head> Heads);
