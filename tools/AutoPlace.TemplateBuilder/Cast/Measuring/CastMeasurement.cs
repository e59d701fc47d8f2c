using System.Globalization;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>Places every head of a folder that has a NAME.joints.json, and compares.</summary>
internal static class CastMeasurement
{
    private const int WorstJoints = 4;

    /// <summary>Prints a table and what the options ask for; returns 0, or 1 when a head couldn't be placed.</summary>
    public static int Run(string folder, MeasureOptions options)
    {
        IReadOnlyList<TruthFile> truths = TruthFile.ReadAll(folder);
        if (truths.Count == 0)
        {
            Console.Error.WriteLine($"{folder}: no NAME.joints.json in it");
            return 2;
        }

        using PlacementPipeline pipeline = PlacementPipeline.Open();
        var measures = new List<HeadMeasure>();
        using var sheet = new CastSheet();
        int failed = 0;
        Console.WriteLine("errors in % of the interocular distance");
        Console.WriteLine("head      mean median   95 %    max  eyes  mouth interior  worst joints");
        foreach (TruthFile truth in truths)
        {
            try
            {
                PlacementResult result = pipeline.Run(MeshReader.Read(truth.MeshPath), PlacementOptions.Default, CancellationToken.None);
                HeadMeasure measure = HeadMeasure.Of(truth, result);
                measures.Add(measure);
                Console.WriteLine(Row(measure));
                sheet.Add(truth.Name, result);
                SavePicture(options, truth.Name, result);
            }
            catch (PlacementException unplaced)
            {
                Console.WriteLine($"{truth.Name}: {unplaced.Message}");
                failed++;
            }
        }

        Details(measures);
        if (options.Sheet is { } file && measures.Count > 0)
        {
            using Image<Rgba32> picture = sheet.Draw();
            OutputFile.Write(file, CastSheet.Png(picture));
        }

        return failed > 0 ? 1 : 0;
    }

    private static string Row(HeadMeasure m)
    {
        string worst = string.Join(", ", m.Errors.Take(WorstJoints).Select(e => string.Create(CultureInfo.InvariantCulture, $"{e.Joint} {e.Error:0.0}")));
        return string.Create(
            CultureInfo.InvariantCulture,
            $"{m.Truth.Name,-8} {m.Mean,5:0.00} {m.Quantile(0.5),6:0.00} {m.Quantile(0.95),6:0.0} {m.Errors[0].Error,6:0.0} {m.EyeCentre,5:0.00} {m.MouthInteriorMean,15:0.0}  {worst}");
    }

    private static void Details(List<HeadMeasure> measures)
    {
        Console.WriteLine("\nmean by region");
        foreach (IGrouping<string, (string Head, double Mean)> region in measures
            .SelectMany(m => m.Errors.GroupBy(e => e.Region).Select(r => (Region: r.Key, Head: m.Truth.Name, Mean: r.Average(e => e.Error))))
            .GroupBy(r => r.Region, r => (r.Head, r.Mean)))
        {
            Console.WriteLine($"{region.Key,-11}" + string.Concat(region.Select(r => string.Create(CultureInfo.InvariantCulture, $"  {r.Head} {r.Mean:0.0}"))));
        }

        Console.WriteLine("\nclearance of skin joints outside folds against their lift");
        foreach (HeadMeasure m in measures)
        {
            string sinking = m.Clearance.Sinking.Count == 0 ? "none" : string.Join(", ", m.Clearance.Sinking);
            Console.WriteLine(string.Create(
                CultureInfo.InvariantCulture,
                $"{m.Truth.Name,-8} median {m.Clearance.Median:0.00}  max {m.Clearance.Worst.Off:0.00} ({m.Clearance.Worst.Joint})  under the surface: {sinking}"));
        }

        foreach (HeadMeasure m in measures)
        {
            foreach ((string joint, Vector3d known, Vector3d found, double error) in m.Offsets)
            {
                Console.WriteLine($"{m.Truth.Name}: {joint} against its twin, known {Vector(known)}, found {Vector(found)}, off by {error.ToString("0.0", CultureInfo.InvariantCulture)}");
            }

            foreach (string fault in m.Faults)
            {
                Console.WriteLine($"{m.Truth.Name}: finding: {fault}");
            }
        }

        static string Vector(Vector3d v) => string.Create(CultureInfo.InvariantCulture, $"({v.X:0.0}, {v.Y:0.0}, {v.Z:0.0})");
    }

    private static void SavePicture(MeasureOptions options, string name, PlacementResult result)
    {
        if (options.Pictures is { } folder)
        {
            Directory.CreateDirectory(folder);
            using Image<Rgba32> picture = LatticePicture.Draw(PictureContent.Of(result));
            OutputFile.Write(Path.Combine(folder, name + ".png"), CastSheet.Png(picture));
            using Image<Rgba32> wires = LatticePicture.Draw(new PictureContent { Mesh = result.HeadMesh, Edges = PictureContent.ModelledEdges(result.Scan.Mesh) });
            OutputFile.Write(Path.Combine(folder, name + ".mesh.png"), CastSheet.Png(wires));
            using Image<Rgba32> whole = LatticePicture.Draw(new PictureContent { Mesh = result.HeadMesh }, CastSheet.Whole(result.HeadMesh));
            OutputFile.Write(Path.Combine(folder, name + ".whole.png"), CastSheet.Png(whole));
        }
    }
}
