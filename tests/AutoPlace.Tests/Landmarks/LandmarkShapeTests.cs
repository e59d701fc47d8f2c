using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using MathNet.Numerics.LinearAlgebra;
using Xunit;

namespace AutoPlace.Tests.Landmarks;

public sealed class LandmarkShapeTests
{
    [Fact]
    public void One_landmark_goes_to_the_mean_of_place_and_expectation_weighted_by_their_information()
    {
        const double Spread = 0.04, Error = 0.01;
        var covariance = new SymmetricMatrix(3);
        for (int i = 0; i < 3; i++)
        {
            covariance.Row(i)[i] = Spread;
        }

        Landmark given = new LandmarkShape([new Vector3d(1, 2, 3)], covariance)
            .Conditioned([At(new Vector3d(2, 2, 1), Matrix3d.Identity * Error)])[0];
        Vector3d expected = ((new Vector3d(2, 2, 1) / Error) + (new Vector3d(1, 2, 3) / Spread)) / ((1 / Error) + (1 / Spread));
        Assert.True(Vector3d.Distance(expected, given.Position) < 1e-12);
        Assert.Equal(1 / ((1 / Error) + (1 / Spread)), given.Covariance.Row1.Y, 1e-12);
        Assert.Equal(0, given.Covariance.Row0.Z, 1e-12);
    }

    // Reference: the same by the precisions of both normal distributions, with MathNet's general solver.
    [Fact]
    public void Agrees_with_the_product_of_both_distributions()
    {
        const int Count = 5;
        var random = new Random(3);
        Matrix<double> root = Matrix<double>.Build.Dense(3 * Count, 3 * Count, (_, _) => random.NextDouble() - 0.5);
        Matrix<double> spread = root * root.Transpose();
        var covariance = new SymmetricMatrix(3 * Count);
        for (int i = 0; i < 3 * Count; i++)
        {
            spread.Row(i).ToArray().AsSpan(0, i + 1).CopyTo(covariance.Row(i));
        }

        Vector3d[] mean = [.. Enumerable.Range(0, Count).Select(_ => RandomPoint(random))];
        Landmark[] seen = [.. mean.Select(_ => At(RandomPoint(random), RandomCovariance(random)))];
        Matrix<double> errors = Matrix<double>.Build.Dense(3 * Count, 3 * Count);
        for (int k = 0; k < Count; k++)
        {
            errors.SetSubMatrix(3 * k, 3 * k, Dense(seen[k].Covariance));
        }

        Matrix<double> posterior = (spread.Inverse() + errors.Inverse()).Inverse();
        Vector<double> expected = posterior * ((spread.Inverse() * Flat(mean)) + (errors.Inverse() * Flat(seen.Select(l => l.Position))));

        IReadOnlyList<Landmark> given = new LandmarkShape(mean, covariance).Conditioned(seen);
        Assert.True((Flat(given.Select(l => l.Position)) - expected).L2Norm() < 1e-9);
        for (int k = 0; k < Count; k++)
        {
            Assert.True((Dense(given[k].Covariance) - posterior.SubMatrix(3 * k, 3, 3 * k, 3)).L2Norm() < 1e-9);
        }
    }

    [Fact]
    public void A_nostril_that_is_hardly_seen_follows_the_nose()
    {
        int nostril = LandmarkNames.IndexOf("nostril_left");
        Vector3d up = new(0, 0.2, 0);
        IReadOnlyList<Landmark> mean = Mean();
        bool IsNose(string name) => name is "pronasale" or "subnasale" || name.StartsWith("alare", StringComparison.Ordinal) || name == "nostril_right";
        IReadOnlyList<Landmark> given = LandmarkShape.OfHeads.Conditioned([.. mean.Select((l, i) =>
            i == nostril ? l with { Covariance = Matrix3d.Identity }
            : l with { Position = l.Position + (IsNose(l.Name) ? up : Vector3d.Zero), Covariance = Matrix3d.Identity * 1e-4 })]);
        Assert.InRange(given[nostril].Position.Y - mean[nostril].Position.Y, up.Y / 2, up.Y);
        Assert.InRange(given[LandmarkNames.IndexOf("pronasale")].Position.Y - mean[LandmarkNames.IndexOf("pronasale")].Position.Y, 0.18, 0.2);
    }

    [Fact]
    public void Mirrored_landmarks_give_the_mirror_image()
    {
        var random = new Random(4);
        Landmark[] seen = [.. Mean().Select(l => l with
        {
            Position = l.Position + (RandomPoint(random) * 0.2),
            Covariance = RandomCovariance(random) * 0.01,
        })];
        IReadOnlyList<Landmark> straight = LandmarkShape.OfHeads.Conditioned(seen);
        IReadOnlyList<Landmark> mirrored = LandmarkShape.OfHeads.Conditioned(Mirrored(seen));
        foreach ((Landmark a, Landmark b) in Mirrored(straight).Zip(mirrored))
        {
            Assert.True(Vector3d.Distance(a.Position, b.Position) < 1e-5, a.Name);
        }
    }

    [Fact]
    public void Nothing_becomes_less_certain()
    {
        var random = new Random(5);
        Landmark[] seen = [.. Mean().Select(l => l with { Covariance = RandomCovariance(random) * Math.Pow(10, -6 * random.NextDouble()) })];
        foreach ((Landmark before, Landmark after) in seen.Zip(LandmarkShape.OfHeads.Conditioned(seen)))
        {
            Assert.All(Dense(before.Covariance - after.Covariance).Evd(Symmetricity.Symmetric).EigenValues, v => Assert.True(v.Real > -1e-9 * before.Covariance.Trace));
            Assert.All(Dense(after.Covariance).Evd(Symmetricity.Symmetric).EigenValues, v => Assert.True(v.Real > 0));
        }
    }

    [Fact]
    public void A_distribution_of_other_landmarks_is_refused()
    {
        Assert.Throws<ArgumentException>(() => new LandmarkShape([Vector3d.Zero], new SymmetricMatrix(6)));
        Assert.Throws<ArgumentException>(() => LandmarkShape.OfHeads.Conditioned([At(Vector3d.Zero, Matrix3d.Identity)]));
    }

    // The shape's own mean: where everything goes that wasn't seen at all.
    private static IReadOnlyList<Landmark> Mean() => LandmarkShape.OfHeads.Conditioned(
        [.. LandmarkNames.All.Select(name => new Landmark(name, Vector3d.Zero, Matrix3d.Identity * 1e6, 0, LandmarkSource.Inferred))]);

    private static Landmark[] Mirrored(IReadOnlyList<Landmark> landmarks) =>
        [.. landmarks.Select(l => landmarks[LandmarkNames.IndexOf(LandmarkNames.Mirror(l.Name))]).Select(l => l with
        {
            Position = l.Position with { X = -l.Position.X },
            Covariance = Matrix3d.Diagonal(-1, 1, 1) * l.Covariance * Matrix3d.Diagonal(-1, 1, 1),
        })];

    private static Landmark At(Vector3d position, Matrix3d covariance) => new("", position, covariance, 1, LandmarkSource.Network);

    private static Vector3d RandomPoint(Random random) => new(random.NextDouble() - 0.5, random.NextDouble() - 0.5, random.NextDouble() - 0.5);

    private static Matrix3d RandomCovariance(Random random)
    {
        var m = new Matrix3d(RandomPoint(random), RandomPoint(random), RandomPoint(random));
        return (m * m.Transposed()) + (Matrix3d.Identity * 0.01);
    }

    private static Vector<double> Flat(IEnumerable<Vector3d> points) =>
        Vector<double>.Build.DenseOfEnumerable(points.SelectMany(p => new[] { p.X, p.Y, p.Z }));

    private static Matrix<double> Dense(Matrix3d m) => Matrix<double>.Build.DenseOfRowArrays(
        [m.Row0.X, m.Row0.Y, m.Row0.Z], [m.Row1.X, m.Row1.Y, m.Row1.Z], [m.Row2.X, m.Row2.Y, m.Row2.Z]);
}
