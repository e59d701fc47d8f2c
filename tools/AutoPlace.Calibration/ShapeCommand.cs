using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.Calibration;

/// <summary>Measures how the landmarks of generated heads lie to each other.</summary>
internal static class ShapeCommand
{
    /// <summary>Heads of this measure, apart from those of training, calibration and the held-out figures.</summary>
    private const ulong ShapeStream = 0x5348415045UL;

    /// <summary>A head frame as found is off by so much (standard deviations): radians, interocular distances, share of the unit.</summary>
    private const double FrameTurn = 0.03, FramePlace = 0.01, FrameUnit = 0.02;

    /// <summary>Share of the variance that isn't told by other landmarks, however they lay on the heads seen.</summary>
    private const double Own = 0.05;

    /// <summary>Measures.</summary>
    public static int Run(ReadOnlySpan<string> words)
    {
        var options = new CommandOptions(words, "morphable", "out", "seed", "heads");
        ulong seed = (ulong)options.Whole("seed", 9);
        MorphableModel model = MorphableModel.Load(options.Required("morphable"), MorphableLayout.FaceModelLight);
        var carrier = new LandmarkCarrier(model);
        var regions = new HeadRegions(model);
        var shapes = new Vector3d[]?[options.Whole("heads", 4000)];
        Parallel.For(
            0, shapes.Length, () => new HeadBuilder(model, carrier, regions),
            (i, _, builder) =>
            {
                var random = new SeededRandom(seed, ShapeStream, (ulong)i);
                HeadSample head = builder.Build(i, random, KindShares.Standard.Draw(random));
                shapes[i] = head.Kind == HeadKind.NonHead ? null : [.. head.Landmarks.Select(p => (Vector3d)p)];
                return builder;
            },
            _ => { });
        Vector3d[][] heads = [.. shapes.OfType<Vector3d[]>().SelectMany(s => new[] { s, Mirrored(s) })];
        File.WriteAllBytes(options.Required("out"), Of(heads).ToJson(LandmarkNames.All));
        Console.Error.WriteLine($"{heads.Length / 2} heads and their mirror images");
        return 0;
    }

    /// <summary>The normal distribution of landmarks, as frames that are found show them.</summary>
    internal static LandmarkShape Of(Vector3d[][] heads)
    {
        int count = heads[0].Length;
        Vector3d[] mean = [.. Enumerable.Range(0, count).Select(k => heads.Aggregate(Vector3d.Zero, (sum, head) => sum + head[k]) / heads.Length)];
        var covariance = new SymmetricMatrix(3 * count);
        foreach (Vector3d[] head in heads)
        {
            Add(Flat(head.Zip(mean, (p, m) => p - m)), 1.0 / heads.Length);
        }

        for (int i = 0; i < covariance.Order; i++)
        {
            foreach (ref double element in covariance.Row(i)[..i])
            {
                element *= 1 - Own;
            }
        }

        foreach (Vector3d axis in new[] { Vector3d.UnitX, Vector3d.UnitY, Vector3d.UnitZ })
        {
            Add(Flat(mean.Select(m => Vector3d.Cross(axis, m))), FrameTurn * FrameTurn);
            Add(Flat(mean.Select(_ => axis)), FramePlace * FramePlace);
        }

        Add(Flat(mean), FrameUnit * FrameUnit);
        return new LandmarkShape(mean, covariance);

        void Add(double[] vector, double weight)
        {
            for (int i = 0; i < vector.Length; i++)
            {
                Span<double> row = covariance.Row(i);
                for (int j = 0; j <= i; j++)
                {
                    row[j] += weight * vector[i] * vector[j];
                }
            }
        }
    }

    private static double[] Flat(IEnumerable<Vector3d> points) => [.. points.SelectMany(p => new[] { p.X, p.Y, p.Z })];

    private static Vector3d[] Mirrored(Vector3d[] head) =>
        [.. LandmarkNames.All.Select(name => head[LandmarkNames.IndexOf(LandmarkNames.Mirror(name))]).Select(p => p with { X = -p.X })];
}
