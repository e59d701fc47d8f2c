using System.Globalization;
using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace.TemplateBuilder.Cast.Measuring;

/// <summary>How near a rig that was fitted to one head comes to the true joints of every other: the true joints of each head are the rig.</summary>
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
        var all = new List<double>();
        Console.WriteLine($"rig of    {string.Concat(truths.Select(truth => $"{truth.Name,9}"))}");
        for (int from = 0; from < truths.Count; from++)
        {
            Rig rig = RigReader.Read(truths[from].JointsPath);
            var template = new PreparedTemplate(TemplateFitting.Fit(truths[from].Name, looked[from], rig).Template);
            double[] means = [.. truths.Select((truth, onto) => HeadMeasure.Of(truth, looked[onto] with
            {
                Template = template.Head,
                Placement = LatticeRegistration.Place(template, template.Head.Lattice, looked[onto].Registration!).Placement,
            }).Mean)];
            all.AddRange(means.Where((_, onto) => onto != from));
            Console.WriteLine($"{truths[from].Name,-10}{string.Concat(means.Select(mean => mean.ToString("0.00", CultureInfo.InvariantCulture).PadLeft(9)))}");
        }

        double[] builtIn = [.. truths.Select((truth, onto) => HeadMeasure.Of(truth, looked[onto]).Mean)];
        Console.WriteLine($"built-in  {string.Concat(builtIn.Select(mean => mean.ToString("0.00", CultureInfo.InvariantCulture).PadLeft(9)))}");
        Console.WriteLine(string.Create(
            CultureInfo.InvariantCulture, $"rigs on other heads: mean {all.Average():0.00}, largest {all.Max():0.00}; the built-in lattice: mean {builtIn.Average():0.00}, largest {builtIn.Max():0.00}"));
        return 0;
    }
}
