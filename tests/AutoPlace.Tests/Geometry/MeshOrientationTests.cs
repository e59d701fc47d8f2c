using AutoPlace.Geometry;
using AutoPlace.Tests.Heads;
using Xunit;

namespace AutoPlace.Tests.Geometry;

/// <summary>Spheres in one another, as a mouth, a face and hair, each a piece of its own that may be inside out.</summary>
public sealed class MeshOrientationTests
{
    private const double Mouth = 0.5, Face = 1.5, Hair = 2.4;

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void Closed_surface_is_inside_out_as_a_whole_or_not(bool reversed) => Assert.All(Of((Face, reversed)), outward => Assert.Equal(!reversed, outward));

    /// <summary>The lining of a mouth is wound as the face around it, though it faces its own middle; a face isn't as the hair around it.</summary>
    [Fact]
    public void Lining_follows_the_face_around_it_and_the_face_no_hair()
    {
        bool[] outward = Of((Mouth, true), (Face, false), (Hair, true));

        int each = outward.Length / 3;
        Assert.All(outward[..(2 * each)], Assert.True);
        Assert.All(outward[(2 * each)..], Assert.False);
    }

    [Fact]
    public void Answer_is_found_once_for_a_mesh()
    {
        TriangleMesh mesh = Shapes.Sphere(4);

        Assert.Equal(mesh.TriangleCount, mesh.FacesOutward.Length);
        Assert.True(mesh.FacesOutward == mesh.FacesOutward);
    }

    // For each triangle of each sphere in turn; all have equally many.
    private static bool[] Of(params (double Radius, bool Reversed)[] spheres) => MeshOrientation.OutwardOf(Shapes.Join([.. spheres.Select(sphere =>
        Shapes.Sphere(4, sphere.Radius) is var outward && sphere.Reversed ? outward.WithReversed([.. Enumerable.Repeat(true, outward.TriangleCount)]) : outward)]));
}
