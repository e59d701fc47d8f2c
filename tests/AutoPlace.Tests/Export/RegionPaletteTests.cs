using System.Numerics;
using AutoPlace.Export;
using Xunit;

namespace AutoPlace.Tests.Export;

public sealed class RegionPaletteTests
{
    [Fact]
    public void No_two_regions_look_alike()
    {
        var looks = RegionPalette.Regions.Select(r => (RegionPalette.Colour(r), RegionPalette.Shape(r))).ToList();
        Assert.Equal(looks.Count, looks.Distinct().Count());
    }

    [Fact]
    public void Colours_are_those_published()
    {
        // Okabe and Ito 2008, "Color Universal Design", the eight colours in RGB 0-255.
        Assert.Equal(new Vector3(230, 159, 0) / 255, RegionPalette.Colour("jaw"));
        Assert.Equal(new Vector3(86, 180, 233) / 255, RegionPalette.Colour("eye"));
        Assert.Equal(new Vector3(213, 94, 0) / 255, RegionPalette.Colour("lip"));
    }

    [Fact]
    public void Unknown_region_is_grey()
    {
        Vector3 colour = RegionPalette.Colour("antler");
        Assert.Equal(colour, RegionPalette.Colour(null));
        Assert.True(colour.X == colour.Y && colour.Y == colour.Z && colour.X is > 0.2f and < 0.8f);
    }
}
