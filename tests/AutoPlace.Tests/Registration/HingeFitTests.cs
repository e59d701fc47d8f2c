using AutoPlace.Geometry;
using AutoPlace.Registration;
using AutoPlace.Template;
using Xunit;

namespace AutoPlace.Tests.Registration;

public sealed class HingeFitTests
{
    private static readonly TemplateHead Template = BuiltInTemplate.Load();

    /// <summary>Ears under hair aren't among a studio's landmarks: the skin over the condyles counts all the same.</summary>
    [Theory]
    [InlineData("tragion_left")]
    [InlineData("tragion_left", "tragion_right")]
    public void Skin_that_carries_the_hinge_is_known_without_ears(params string[] unseen)
    {
        TemplateHead hairy = Template with { Landmarks = Template.Landmarks.Where(l => !unseen.Contains(l.Key)).ToDictionary() };
        Vector3d hinge = Template.Lattice.Joints.Single(j => j.Name == "jaw_hinge").Position;
        Vector3d[] skin = [.. new PreparedTemplate(Template).ControlPoints];

        double[] known = HingeFit.Weights(Template, skin, hinge), found = HingeFit.Weights(hairy, skin, hinge);

        Assert.Equal(1, Correlation(known, found), 0.05);
    }

    private static double Correlation(double[] a, double[] b) => MathNet.Numerics.Statistics.Correlation.Pearson(a, b);
}
