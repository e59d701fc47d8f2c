using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Tests.Import;
using Xunit;

namespace AutoPlace.Tests;

/// <summary>
/// The whole path on heads of others that package registries carry (tools/fetch-test-heads.sh names packages, versions
/// and licences). The expected points are one person's labels of these files, made with a viewer for this project, in
/// each file's own coordinates; an error of 3 to 4 % of the interocular distance (9 % on the scan) is the labels' own.
/// </summary>
public sealed class RegistryHeadsPlacementTests : IDisposable
{
    private readonly PlacementPipeline _pipeline = PlacementPipeline.Open();

    /// <summary>npm mind-ar 1.2.5, a generic face mask.</summary>
    [Fact]
    public void Canonical_face() => Check("canonical-face.obj", 6.380862, 0.08, new(0, 1, 0), new(0, 0, 1), new()
    {
        ["eye_centre_left"] = new(3.190431, 2.637313, 2.579423),
        ["eye_centre_right"] = new(-3.190431, 2.637313, 2.579423),
        ["subnasale"] = new(0, -2.089024, 6.058267),
        ["cheilion_left"] = new(2.456206, -4.342621, 4.283884),
        ["cheilion_right"] = new(-2.456206, -4.342621, 4.283884),
        ["pogonion"] = new(0, -7.942194, 5.181173),
        ["menton"] = new(0, -9.403378, 4.264492),
    });

    /// <summary>Debian assimp-testmodels 5.2.5~ds0-1, a whole woman.</summary>
    [Fact]
    public void Human() => Check("human.obj", 0.0577396, 0.08, new(0, 1, 0), new(0, 0, 1), new()
    {
        ["eye_centre_left"] = new(0.02887, 1.553937, 0.118019),
        ["eye_centre_right"] = new(-0.02887, 1.553937, 0.118019),
        ["subnasale"] = new(0, 1.506124, 0.149469),
        ["cheilion_left"] = new(0.023199, 1.485499, 0.138719),
        ["cheilion_right"] = new(-0.022653, 1.485499, 0.138717),
        ["pogonion"] = new(0, 1.46231, 0.142239),
        ["menton"] = new(0, 1.445556, 0.12699),
    });

    /// <summary>Debian libcgal-demo 5.5.1-2, a running man, Z up; his eye centres aren't labelled.</summary>
    [Fact]
    public void Running_man() => Check("man.off", 0.0387543, 0.08, new(0, 0, 1), new(0, -1, 0), new()
    {
        ["subnasale"] = new(-0.030038, -0.075839, 0.396193),
        ["cheilion_left"] = new(-0.013617, -0.064547, 0.384368),
        ["cheilion_right"] = new(-0.045038, -0.063139, 0.384368),
        ["pogonion"] = new(-0.030038, -0.06716, 0.366039),
        ["menton"] = new(-0.030038, -0.059118, 0.359202),
    });

    /// <summary>Debian libcgal-demo 5.5.1-2, a low-poly head with open eye holes, front to -X.</summary>
    [Fact]
    public void Head_with_open_eyes() => Check("head.off", 3.904666, 0.08, new(0, 1, 0), new(-1, 0, 0), new()
    {
        ["eye_centre_left"] = new(-3.448176, 12.561985, 1.961252),
        ["eye_centre_right"] = new(-3.491407, 12.575733, -1.94315),
        ["subnasale"] = new(-6.42905, 10.147072, -0.052815),
        ["cheilion_left"] = new(-5.586228, 8.533852, 1.871891),
        ["cheilion_right"] = new(-5.549956, 8.533852, -1.97752),
        ["pogonion"] = new(-6.722012, 6.719156, -0.052815),
        ["menton"] = new(-6.554121, 5.977676, -0.052815),
    });

    /// <summary>Debian inventor-data 2.1.5-10+dfsg-2, a laser scan of 40 x 40 points.</summary>
    [Fact]
    public void Coarse_scan() => Check("rikk.off", 0.0573573, 0.15, new(0, 1, 0), new(0, 0, 1), new()
    {
        ["eye_centre_left"] = new(0.042072, 0.004656, 0.085284),
        ["eye_centre_right"] = new(-0.015094, 0.00405, 0.089925),
        ["subnasale"] = new(0.017832, -0.031906, 0.115136),
        ["cheilion_left"] = new(0.049748, -0.0616, 0.088298),
        ["cheilion_right"] = new(-0.014488, -0.055944, 0.0989),
        ["pogonion"] = new(0.011166, -0.0919, 0.106431),
    });

    public void Dispose() => _pipeline.Dispose();

    // The required landmarks within the given share of the interocular distance in the median and three times that at
    // worst; up within 15 and front within 10 degrees.
    private void Check(
        string file, double interocular, double median, Vector3d up, Vector3d front, Dictionary<string, Vector3d> labels)
    {
        HeadScan scan = RegistryHeadsTests.Read(file);
        PlacementResult result = _pipeline.Run(scan, PlacementOptions.Default, TestContext.Current.CancellationToken);
        Dictionary<string, double> errors = labels.ToDictionary(l => l.Key, l =>
            Vector3d.Distance(result.Frame.ToFile(Found(result.Landmarks, l.Key)), l.Value) / interocular);

        // Any of the two points of the chin will do.
        if (errors.TryGetValue("menton", out double menton))
        {
            errors["pogonion"] = Math.Min(errors["pogonion"], menton);
            errors.Remove("menton");
        }

        double[] sorted = [.. errors.Values.Order()];
        Assert.InRange(sorted[sorted.Length / 2], 0, median);
        Assert.InRange(sorted[^1], 0, 3 * median);
        Assert.InRange(Vector3d.Dot(result.Frame.Up, up), Math.Cos(15 * Math.PI / 180), 1.0000001);
        Assert.InRange(Vector3d.Dot(result.Frame.Front, front), Math.Cos(10 * Math.PI / 180), 1.0000001);
    }

    private static Vector3d Found(IReadOnlyList<Landmark> landmarks, string name) => landmarks.Single(l => l.Name == name).Position;
}
