using System.Globalization;
using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Template;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>Places heads again, turned, moved and scaled in their files, and compares: what a pose should not change.</summary>
internal static class TurnMeasurement
{
    private const double Limit = 0.01;

    /// <summary>Joints that are named, those most often beyond the limit first.</summary>
    private const int Listed = 6;

    /// <summary>Prints a line for each file, and which joints move most often; returns 0, or 1 when a head isn't found in some pose.</summary>
    /// <param name="files">Files of heads.</param>
    /// <param name="poses">Random poses of each, seeds from 1.</param>
    public static int Run(IReadOnlyList<string> files, int poses)
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        int lost = 0;
        Console.WriteLine("distance between a head's joints and the same joints turned back, in % of the interocular distance");
        Console.WriteLine("head             poses  median   95 %  worst  joint (pose)                    beyond 1 %");
        foreach (string file in files)
        {
            HeadScan scan = MeshReader.Read(file);
            PlacementResult reference = Place(scan);
            var errors = new List<(double Error, string Joint, int Pose)>();
            for (int seed = 1; seed <= poses; seed++)
            {
                SimilarityTransform pose = RandomPose(seed);
                try
                {
                    PlacementResult turned = Place(Posed(scan, pose));
                    errors.AddRange(reference.Placement.Joints.Zip(turned.Placement.Joints, (a, b) => (
                        Vector3d.Distance(pose.Apply(reference.Frame.ToFile(a.Position)), turned.Frame.ToFile(b.Position)) / turned.Frame.InterocularDistance,
                        a.Joint.Name,
                        seed)));
                }
                catch (HeadNotFoundException)
                {
                    lost++;
                    Console.WriteLine($"{Path.GetFileName(file)}: not found in pose {seed}");
                }
            }

            errors.Sort();
            (double worst, string joint, int at) = errors[^1];
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{Path.GetFileName(file),-16} {poses,5} {100 * errors[errors.Count / 2].Error,7:0.00} {100 * errors[errors.Count * 95 / 100].Error,6:0.00} {100 * worst,6:0.00}  {joint + " (" + at + ")",-30}  {errors.Count(e => e.Error > Limit)} of {errors.Count}"));
            var beyond = errors.Where(e => e.Error > Limit).GroupBy(e => e.Joint).OrderByDescending(g => g.Count()).Take(Listed);
            foreach (var g in beyond)
            {
                Console.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  {g.Key}: {g.Count()} times, by up to {100 * g.Max(e => e.Error):0.0}"));
            }
        }

        return lost > 0 ? 1 : 0;

        PlacementResult Place(HeadScan scan) => pipeline.Run(scan, PlacementOptions.Default, CancellationToken.None);
    }

    private static HeadScan Posed(HeadScan scan, SimilarityTransform pose) => new()
    {
        Source = scan.Source,
        Sha256 = scan.Sha256,
        Format = scan.Format,
        MetresPerUnit = null,
        Mesh = scan.Mesh.WithPositions([.. scan.Mesh.Positions.ToArray().Select(p => (Vector3)pose.Apply(p))]),
        Parts = scan.Parts,
        FaceParts = scan.FaceParts,
    };

    /// <summary>A random rotation, scale (e to a standard normal) and displacement of about its size.</summary>
    /// <param name="seed">Seed.</param>
    public static SimilarityTransform RandomPose(int seed)
    {
        var random = new Random(seed);
        double Gauss() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
        var rotation = new Rotation3d(Gauss(), Gauss(), Gauss(), Gauss()).Normalized();
        double scale = Math.Exp(Gauss());
        return new SimilarityTransform(scale, rotation.ToMatrix(), new Vector3d(Gauss(), Gauss(), Gauss()) * scale);
    }
}
