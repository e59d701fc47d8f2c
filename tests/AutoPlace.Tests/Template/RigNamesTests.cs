using AutoPlace.Geometry;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Template;

/// <summary>What names of joints tell.</summary>
public sealed class RigNamesTests
{
    [Theory]
    [InlineData("brow_2_left", "brow|2|left")]
    [InlineData("L_brow02", "l|brow|02")]
    [InlineData("browLeft2", "brow|left|2")]
    [InlineData("FR:LBrow:jnt", "fr|l|brow|jnt")]
    [InlineData("EYE.R", "eye|r")]
    [InlineData("__x", "x")]
    public void Words_end_at_signs_digits_and_capitals(string name, string words) => Assert.Equal(words, string.Join('|', RigNames.LowerWords(name)));

    [Theory]
    [InlineData("brow_2_left", "brow_2_right")]
    [InlineData("L_brow02", "R_brow02")]
    [InlineData("browLeft2", "browRight2")]
    [InlineData("EYE.R", "EYE.L")]
    [InlineData("lid_l", "lid_r")]
    [InlineData("LEFT_ear", "RIGHT_ear")]
    [InlineData("L_lip_l", "L_lip_r|R_lip_l|R_lip_r")]
    [InlineData("lip_lower", "")]
    [InlineData("menton", "")]
    public void Mirrored_names_exchange_the_words_for_sides(string name, string mirrored) => Assert.Equal(mirrored, string.Join('|', RigNames.Mirrored(name)));

    [Fact]
    public void Rows_are_inferred_where_one_number_counts_and_steps_run_on()
    {
        string[] names = ["brow_1_l", "brow_3_l", "brow_2_l", "odd_1", "odd_2", "odd_4", "back_1", "back_2", "back_3", "two_1", "two_2"];
        Vector3d[] at = [new(0, 0, 0), new(2, 0, 0), new(1, 0.2, 0), new(0, 5, 0), new(1, 5, 0), new(2, 5, 0), new(0, 9, 0), new(1, 9, 0), new(0.5, 9, 0), new(0, 3, 0), new(1, 3, 0)];

        JointSequence row = Assert.Single(RigRows.Infer(names, at));

        Assert.Equal("brow_l", row.Name);
        Assert.Equal(["brow_1_l", "brow_2_l", "brow_3_l"], row.Joints);
    }

    /// <summary>Two joints in one place pair off by their names, where these tell; the third pair has no names for sides.</summary>
    [Fact]
    public void Twins_are_found_by_place_and_told_apart_by_name()
    {
        string[] names = ["eye.L", "lid.L", "lid.R", "eye.R", "p", "q", "alone.L", "mid"];
        Vector3d[] at = [new(1, 0, 0), new(1, 0, 0), new(-1, 0, 0), new(-1, 0, 0), new(2, 1, 0), new(-2, 1, 0), new(3, 0, 0), new(0, 4, 0)];

        RigSides sides = RigSides.Infer(names, at);

        Assert.Equal([3, 2, 1, 0, 5, 4, -1, 7], sides.Twins);
        Assert.Equal([Side.Left, Side.Left, Side.Right, Side.Right, Side.Left, Side.Right, Side.Left, Side.Middle], sides.Sides);
    }

    /// <summary>
    /// A rig about a plane that is half a degree and six thousandths off the head's is found to be symmetric about its own, by
    /// names or without, also when one joint is off its twin's mirror image.
    /// </summary>
    [Theory]
    [InlineData("_l", "_r")]
    [InlineData("p", "q")]
    public void Plane_of_the_rig_is_found_by_its_pairs(string left, string right)
    {
        const double Offset = 0.006;
        Vector3d normal = new Vector3d(Math.Cos(0.009), Math.Sin(0.009), 0);
        Vector3d[] half = [new(0.5, 0.1, 0.2), new(0.9, -0.8, 0.1), new(0.3, -1, 0.5), new(1.1, 0.4, -0.9), new(0.6, 0.5, 0.3)];
        Vector3d[] at = [.. half, .. half.Select(Image), (half[0] + Image(half[0])) * 0.5];
        at[7] += new Vector3d(0, 0.02, 0.01);
        string[] names = [.. Enumerable.Range(0, 5).Select(i => $"{i}{left}"), .. Enumerable.Range(0, 5).Select(i => $"{i}{right}"), "m"];

        RigPlane plane = RigPlane.Find(names, at, []);

        Assert.Equal(Offset, plane.Offset, 1e-9);
        Assert.InRange(Vector3d.Distance(plane.Normal, normal), 0, 1e-9);
        Assert.Equal(0, plane.Along(at[10]).X, 1e-9);
        Assert.Equal(-plane.Along(at[0]).X, plane.Along(at[5]).X, 1e-9);
        Assert.All(at, p => Assert.InRange(Vector3d.Distance(plane.Back(plane.Along(p)), p), 0, 1e-12));

        Vector3d Image(Vector3d p) => p - (normal * (2 * (Vector3d.Dot(p, normal) - Offset)));
    }
}
