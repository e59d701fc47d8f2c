using AutoPlace.Geometry;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>
/// The cast of "The Lantern Market", people and puppets invented for demonstrations. Their shapes are set by eye, in
/// atlas coordinates.
/// </summary>
internal static class LanternMarket
{
    /// <summary>All of them.</summary>
    public static IReadOnlyList<Puppet> Cast { get; } = [Maren, Tibb, Wick, Osric, Brannoc, Lysk, Hobb, Senna];

    /// <summary>Keeps the lamps: a slender realistic face.</summary>
    private static Puppet Maren => new()
    {
        Name = "maren",
        Change = new(
            new(new(0, -1.2, 0), 0.9, new(0.92, 1.06, 1.0), new(0, -0.04, 0)),
            new(new(0, -0.55, 0.6), 0.35, new(0.9, 1.05, 1.0), new(0, 0, 0.05)),
            new(new(0.8, -0.4, 0.1), 0.4, new(1, 1, 1), new(0.03, 0.02, 0.03))),
        Build = builder =>
        {
            builder.AddPairedQuads(p => 0.075 - (0.035 * Near(p, new(0.5, 0, 0.2), 0.4)) - (0.03 * Near(p, new(0, -0.9, 0.5), 0.45)) - (0.03 * Ear(p)), "skin", WarpedHead.LidLining);
            builder.AddTemplateEyes();
        },
        Form = FileForm.Glb,
    };

    /// <summary>Runs errands: a child, high forehead, short face, large eyes, small nose and jaw. Z up, centimetres.</summary>
    private static Puppet Tibb => new()
    {
        Name = "tibb",
        Change = new(
            new(new(0, 0.7, -1.0), 1.5, new(1.10, 1.10, 1.06), new(0, 0.05, 0)),
            new(new(0, -0.35, 0.3), 1.0, new(1.0, 0.86, 0.97), new(0, 0.03, 0)),
            new(new(0, -0.5, 0.65), 0.30, new(0.80, 0.85, 0.62), new(0, 0.03, -0.03)),
            new(new(0.75, -0.80, 0.15), 0.40, new(1, 1, 1), new(0.04, -0.05, 0.05)),
            new(new(0, -1.45, 0.2), 0.55, new(0.88, 0.9, 0.92), new(0, 0.05, -0.03)),
            new(new(0, -2.3, -0.8), 0.7, new(0.75, 1, 0.75), new(0, 0, 0))),
        Eyes = new(new(1.12, 1.12, 1.12), new(0, 0, 0.02)),
        Build = builder =>
        {
            builder.AddPolygons(p => 0.085 - (0.040 * Near(p, new(0.5, 0, 0.2), 0.4)) - (0.035 * Near(p, new(0, -0.9, 0.5), 0.45)) - (0.04 * Ear(p)), "skin", WarpedHead.LidLining);
            builder.AddBalls(6);
        },
        Form = new("obj", 5.4, Vector3d.UnitX, Vector3d.UnitZ, new(0, 12, 104)),
    };

    /// <summary>Draws the moths: flat eyes as large as saucers. Feet, turned to look along +X, Z up.</summary>
    private static Puppet Wick => new()
    {
        Name = "wick",
        Change = new(
            new(new(0, -0.9, 0.3), 0.8, new(1, 1.12, 1), new(0, -0.06, 0)),
            new(new(0, 0.9, -0.9), 1.3, new(0.94, 1.10, 0.96), new(0, 0, 0)),
            new(new(0, -0.55, 0.6), 0.33, new(0.78, 0.95, 0.80), new(0, 0, 0)),
            new(new(1.0, 0.05, 0.0), 0.32, new(1, 1, 1), new(-0.07, 0, -0.06)),
            new(new(0, -1.35, 0.2), 0.75, new(0.90, 1.02, 1.0), new(0, -0.03, 0)),
            new(new(0, -1.12, 0.45), 0.32, new(1.22, 1.05, 1), new(0, 0, 0)),
            new(new(0.65, -0.72, 0.2), 0.35, new(1, 1, 1), new(0, -0.10, 0))),
        Eyes = new(new(1.26, 1.50, 0.38), new(0.06, 0.03, 0), Flat: true),
        Build = builder =>
        {
            builder.AddTriangles(p => 0.080 - (0.040 * Ear(p)) - (0.030 * Near(p, new(0.55, 0, 0.2), 0.4)), "skin", WarpedHead.LidLining);
            builder.AddTemplateEyes();
        },
        Form = new("ply", 0.2064, Vector3d.UnitY, Vector3d.UnitZ, new(3.5, -1.25, 4.9)),
    };

    /// <summary>Rings the closing bell: a long face with a long nose and chin. Metres, by a node that scales.</summary>
    private static Puppet Osric => new()
    {
        Name = "osric",
        Change = new(
            new(new(0, -0.2, 0), 1.6, new(0.90, 1.16, 0.97), new(0, 0, 0)),
            new(new(0, -1.75, 0.3), 0.65, new(0.88, 1.12, 1.0), new(0, -0.16, 0.05)),
            new(new(0, -0.45, 0.65), 0.34, new(0.95, 1.12, 1.22), new(0, -0.06, 0.05)),
            new(new(0.8, -0.75, 0.1), 0.38, new(1, 1, 1), new(-0.06, 0, -0.05)),
            new(new(1.3, -0.3, -1.25), 0.40, new(1, 1.12, 1.05), new(0.02, 0, 0))),
        Eyes = new(new(0.94, 0.94, 0.94), Vector3d.Zero),
        Build = builder =>
        {
            builder.AddTripleQuads(p =>
                    0.150 - (0.065 * Near(p, new(0.5, 0, 0.2), 0.35))
                    - (0.055 * Near(p, new(0.0, -1.1, 0.45), 0.35))
                    - (0.10 * Ear(p))
                    - (0.07 * Near(p, new(0, -0.6, 0.7), 0.3)), "skin", "mouth_bag");
            builder.AddTemplateEyes();
            builder.AddMouthInterior();
        },
        Form = new("glb", 0.066, Vector3d.UnitX, Vector3d.UnitY, new(0, 1.62, 0.05), ByNode: true),
    };

    /// <summary>Carries the crates: a broad jaw, a thick neck, a flat nose. Millimetres, looking along -Y, few triangles.</summary>
    private static Puppet Brannoc => new()
    {
        Name = "brannoc",
        Change = new(
            new(new(0, -1.35, -0.2), 0.95, new(1.17, 1.03, 1.05), new(0, 0, 0)),
            new(new(0, -1.75, 0.35), 0.45, new(1.30, 1.0, 1.05), new(0, -0.02, 0.07)),
            new(new(0, -0.6, 0.6), 0.32, new(1.25, 0.95, 0.92), new(0, 0, -0.02)),
            new(new(0, 0.38, 0.45), 0.40, new(1, 0.9, 1.0), new(0, -0.03, 0.07)),
            new(new(0, -2.2, -0.8), 0.8, new(1.18, 1, 1.10), new(0, 0, 0)),
            new(new(0, 0.9, -1.0), 1.0, new(0.95, 0.96, 0.97), new(0, 0, 0))),
        Build = builder =>
        {
            builder.AddTriangles(p =>
                    0.23 - (0.15 * Near(p, new(0.5, 0, 0.2), 0.35))
                    - (0.11 * Near(p, new(0, -1.1, 0.5), 0.35))
                    - (0.10 * Near(p, new(0, -0.6, 0.7), 0.28))
                    - (0.16 * Ear(p)), "skin");
            builder.AddBalls(3);
        },
        Form = new("obj", 67, Vector3d.UnitX, Vector3d.UnitZ, new(-240, 85, 1710)),
    };

    /// <summary>
    /// Tells fortunes, one side unlike the other by known amounts: the left mouth corner raised, the right brow
    /// lowered, the nose bent to the left, the left ear lower.
    /// </summary>
    private static Puppet Lysk => new()
    {
        Name = "lysk",
        Change = new(
            new(new(0, -1.3, 0.1), 0.8, new(0.96, 1.0, 1.0), new(0, 0, 0)),
            new(new(0.85, -0.35, 0.1), 0.4, new(1, 1, 1), new(0.06, 0.02, 0.05)),
            new(new(0, -0.5, 0.6), 0.32, new(0.95, 1.1, 1.08), new(0, -0.02, 0.02))),
        Shifts =
        [
            new("lip_corner_left", new(0.02, 0.13, 0), 0.24),
            new("brow_3_right", new(0, -0.10, 0.01), 0.22),
            new("pronasale", new(0.10, 0, 0), 0.24),
            new("ear_middle_left", new(0, -0.14, 0), 0.36),
        ],
        Build = builder =>
        {
            builder.AddTriangles(p => 0.052 - (0.016 * Near(p, new(0.5, 0, 0.2), 0.4)) - (0.012 * Near(p, new(0, -0.9, 0.5), 0.45)) - (0.016 * Ear(p)), "skin", WarpedHead.LidLining);
            builder.AddBalls(8);
        },
        Form = FileForm.Glb with { Origin = new(0.4, 1.55, -0.2) },
    };

    /// <summary>Sells chestnuts: a full beard, a brimmed hat, a round face. Metres, as a node of a stall that stands turned by a quarter.</summary>
    private static Puppet Hobb => new()
    {
        Name = "hobb",
        Change = new(
            new(new(0, -0.9, 0.0), 1.0, new(1.10, 0.98, 1.03), new(0, 0, 0)),
            new(new(0, -0.55, 0.65), 0.32, new(1.18, 1.05, 1.12), new(0, -0.02, 0.02)),
            new(new(0.75, -0.55, 0.2), 0.38, new(1, 1, 1), new(0.03, 0, 0.07)),
            new(new(0, 0.36, 0.4), 0.45, new(1, 1, 1.0), new(0, 0, 0.04))),
        Eyes = new(new(0.97, 0.97, 0.97), Vector3d.Zero),
        Build = builder =>
        {
            builder.AddTriangles(p => 0.090 - (0.035 * Near(p, new(0.5, 0, 0.2), 0.4)) - (0.045 * Ear(p)), "skin");
            builder.AddBalls(6);
            Costume.AddBeard(builder);
            Costume.AddHat(builder.Mesh, new(0, 0.72, -1.15));
        },
        Form = new("glb", 0.0645, -Vector3d.UnitZ, Vector3d.UnitY, new(1.1, 1.66, -0.7), ByNode: true),
    };

    /// <summary>Carries the lanterns: a whole figure in A-pose with a skin of its own. Metres, feet on the ground.</summary>
    private static Puppet Senna => new()
    {
        Name = "senna",
        Change = new(
            new(new(0, -0.3, 0), 1.4, new(0.97, 1.0, 1.0), new(0, 0, 0)),
            new(new(0, -1.5, 0.25), 0.6, new(0.92, 0.95, 0.96), new(0, 0.03, 0)),
            new(new(0, -1.1, 0.5), 0.30, new(1.05, 1.15, 1.04), new(0, 0, 0)),
            new(new(0, -0.55, 0.6), 0.30, new(0.92, 0.95, 0.92), new(0, 0, 0))),
        Eyes = new(new(1.06, 1.06, 1.06), Vector3d.Zero),
        Build = builder =>
        {
            builder.AddTriangles(p => 0.110 - (0.055 * Near(p, new(0.5, 0, 0.2), 0.4)) - (0.04 * Near(p, new(0, -0.9, 0.5), 0.4)) - (0.06 * Ear(p)), "skin", WarpedHead.LidLining);
            builder.AddBalls(5);
        },
        Figure = Body.Add,
        Form = FileForm.Glb with { Origin = new(0, Body.EyeHeight * FileForm.MetresPerAtlasUnit, 0) },
    };

    private static double Ear(Vector3d p) => Near(p, new(1.3, -0.4, -1.25), 0.45);

    // 1 at a point of the left or the right side, fading out.
    private static double Near(Vector3d p, Vector3d left, double radius) =>
        Math.Exp(-((p with { X = Math.Abs(p.X) }) - left).LengthSquared / (2 * radius * radius));
}
