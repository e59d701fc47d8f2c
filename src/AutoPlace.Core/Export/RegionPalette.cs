using System.Numerics;

namespace AutoPlace.Export;

/// <summary>Shape of a joint's marker.</summary>
public enum MarkerShape
{
    /// <summary>Round.</summary>
    Disc,

    /// <summary>Upright square.</summary>
    Square,

    /// <summary>Square on its corner.</summary>
    Diamond,

    /// <summary>Triangle on its base.</summary>
    Triangle,
}

/// <summary>
/// How regions of a lattice are told apart, in every picture: a colour of the palette of Okabe and Ito (2008), made for
/// colour-blind readers, and a shape, so that neither is needed alone.
/// </summary>
public static class RegionPalette
{
    // Black, orange, sky blue, bluish green, yellow, blue, vermilion, reddish purple; 8-bit sRGB as published.
    private static readonly uint[] Colours = [0x000000, 0xE69F00, 0x56B4E9, 0x009E73, 0xF0E442, 0x0072B2, 0xD55E00, 0xCC79A7];

    private static readonly int ShapeCount = Enum.GetValues<MarkerShape>().Length;

    /// <summary>The regions of the built-in lattice, in the order that gives each its colour and shape.</summary>
    public static IReadOnlyList<string> Regions { get; } =
    [
        "skull", "jaw", "eye", "eyelid", "brow", "nose", "lip", "perioral", "cheek", "outline", "ear", "tongue", "teeth", "attachment",
    ];

    /// <summary>Colour of a region, sRGB-encoded red, green and blue in [0, 1]; mid-grey for an unknown region or none.</summary>
    public static Vector3 Colour(string? region)
    {
        int index = IndexOf(region);
        if (index < 0)
        {
            return new(0.4f);
        }

        uint colour = Colours[index % Colours.Length];
        return new Vector3((colour >> 16) & 0xFF, (colour >> 8) & 0xFF, colour & 0xFF) / 255;
    }

    /// <summary>Shape of a region's markers; a disc for an unknown region or none.</summary>
    public static MarkerShape Shape(string? region)
    {
        // The shapes shift by one each time the colours start over, so no two of the first 32 regions look alike.
        int index = Math.Max(0, IndexOf(region));
        return (MarkerShape)((index + (index / Colours.Length)) % ShapeCount);
    }

    private static int IndexOf(string? region)
    {
        for (int i = 0; i < Regions.Count; i++)
        {
            if (string.Equals(Regions[i], region, StringComparison.Ordinal))
            {
                return i;
            }
        }

        return -1;
    }
}
