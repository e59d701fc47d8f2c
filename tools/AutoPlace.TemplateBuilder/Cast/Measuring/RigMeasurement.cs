using System.Globalization;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>
/// How near a rig that was fitted to one head comes to the true joints of every other: the true joints of each head are the rig. And
/// how near it comes to where it was when what was placed is taken for a rig and placed on the first head.
/// </summary>
internal static class RigMeasurement
{
    /// <summary>Prints mean errors of all joints in % of the true interocular distance, a line for each head that the rig comes from.</summary>
    /// <param name="folder">Folder of heads with a NAME.joints.json.</param>
    public static int Run(string folder)
    {
        using PlacementPipeline pipeline = PlacementPipeline.Open();
        IReadOnlyList<TruthFile> truths = TruthFile.ReadAll(folder);
        PlacementResult[] looked = [.. truths.Select(truth => pipeline.Run(
            MeshReader.Read(truth.MeshPath), PlacementOptions.Default with { CarriesTopology = false }, CancellationToken.None))];
        (List<double> all, List<double> back) = ([], []);
        Console.WriteLine($"rig of    {string.Concat(truths.Select(truth => $"{truth.Name,9}"))}");
        for (int from = 0; from < truths.Count; from++)
        {
            Rig rig = RigReader.Read(truths[from].JointsPath);
            PlacementResult[] placed = [.. PlacedOn(looked, Template(truths[from].Name, looked[from], rig))];
            double[] means = [.. truths.Zip(placed, (truth, result) => HeadMeasure.Of(truth, result).Mean)];
            for (int onto = 0; onto < truths.Count; onto++)
            {
                if (onto != from)
                {
                    Rig there = rig with { Joints = [.. rig.Joints.Select(joint => joint with { Position = At(placed[onto], joint.Name) })] };
                    PlacementResult again = PlacedOn([looked[from]], Template(truths[onto].Name, looked[onto], there)).Single();
                    all.Add(means[onto]);
                    back.AddRange(HeadMeasure.Of(truths[from], again).Errors.Select(error => error.Error));
                }
            }

            Console.WriteLine($"{truths[from].Name,-10}{string.Concat(means.Select(mean => mean.ToString("0.00", CultureInfo.InvariantCulture).PadLeft(9)))}");
        }

        double[] builtIn = [.. truths.Select((truth, onto) => HeadMeasure.Of(truth, looked[onto]).Mean)];
        Console.WriteLine($"built-in  {string.Concat(builtIn.Select(mean => mean.ToString("0.00", CultureInfo.InvariantCulture).PadLeft(9)))}");
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture, $"rigs on other heads: mean {all.Average():0.00}, largest {all.Max():0.00}; the built-in lattice: mean {builtIn.Average():0.00}, largest {builtIn.Max():0.00}"));
        back.Sort();
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture, $"there and back, {all.Count} pairs: median {back[back.Count / 2]:0.00}, mean {back.Average():0.00}, 95 % {back[(int)(0.95 * (back.Count - 1))]:0.00}"));
        return 0;
    }

    private static PreparedTemplate Template(string name, PlacementResult head, Rig rig) => new(TemplateFitting.Fit(name, head, rig).Template);

    private static IEnumerable<PlacementResult> PlacedOn(IEnumerable<PlacementResult> heads, PreparedTemplate template) => heads.Select(head => head with
    {
        Template = template.Head,
        Placement = LatticeRegistration.Place(template, template.Head.Lattice, head.Registration!).Placement,
    });

    private static Vector3d At(PlacementResult placed, string joint) =>
        placed.Frame.ToFile(placed.Placement.Joints.Single(candidate => candidate.Joint.Name == joint).Position);
}
