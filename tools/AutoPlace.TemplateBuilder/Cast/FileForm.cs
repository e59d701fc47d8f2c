using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>Format, unit and axes of a puppet's file.</summary>
/// <param name="Extension">"glb", "obj" or "ply".</param>
/// <param name="UnitsPerAtlasUnit">Units of the file in one atlas unit: the adult mean's interocular distance, 62.9 mm.</param>
/// <param name="Left">Where the subject's left points in the file; unit vector.</param>
/// <param name="Up">Where up points; unit vector.</param>
/// <param name="Origin">Where the atlas origin lies, file coordinates.</param>
/// <param name="ByNode">For GLB: true to keep the vertices in head axes and atlas units and let the root node turn and scale them.</param>
internal sealed record FileForm(string Extension, double UnitsPerAtlasUnit, Vector3d Left, Vector3d Up, Vector3d Origin, bool ByNode = false)
{
    /// <summary>Metres in one atlas unit: the mean adult interpupillary breadth (ANSUR II, both sexes).</summary>
    public const double MetresPerAtlasUnit = 0.0629;

    /// <summary>glTF's own axes and unit, the eyes at the origin.</summary>
    public static FileForm Glb { get; } = new("glb", MetresPerAtlasUnit, Vector3d.UnitX, Vector3d.UnitY, Vector3d.Zero);

    /// <summary>Where the face looks.</summary>
    public Vector3d Front => Vector3d.Cross(Left, Up);

    /// <summary>A point in the file's coordinates.</summary>
    public Vector3d ToFile(Vector3d p) => Origin + (Direction(p) * UnitsPerAtlasUnit);

    /// <summary>A direction in the file's axes, of the same length.</summary>
    public Vector3d Direction(Vector3d d) => (Left * d.X) + (Up * d.Y) + (Front * d.Z);
}
