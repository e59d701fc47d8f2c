using AutoPlace.Import;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Cast.Measuring;
using AutoPlace.Tests.Demo;
using Xunit;

namespace AutoPlace.Tests.Rigs;

/// <summary>Demonstration heads, each looked at once, for placing many rigs on them.</summary>
public sealed class RigHeads : IDisposable
{
    private readonly PlacementPipeline _pipeline = PlacementPipeline.Open();
    private readonly Dictionary<string, PlacementResult> _looked = new(StringComparer.Ordinal);

    /// <summary>The head with the built-in lattice placed by looking.</summary>
    internal PlacementResult Look(string name, bool symmetric = false)
    {
        string key = symmetric ? $"{name}, symmetric" : name;
        if (!_looked.TryGetValue(key, out PlacementResult? result))
        {
            result = Run(MeshReader.Read(Truth(name).MeshPath), PlacementOptions.Default with { CarriesTopology = false, Symmetric = symmetric });
            _looked.Add(key, result);
        }

        return result;
    }

    /// <summary>The head's true joints.</summary>
    internal static TruthFile Truth(string name) => DemoFolder.Truths[name];

    /// <summary>The template of a rig that fits a head, as it comes back from its file.</summary>
    internal TemplateHead Template(string head, IReadOnlyList<RigJoint> joints)
    {
        FittedTemplate fitted = TemplateFitting.Fit("rig", Look(head), RigRules.Checked("rig.json", joints, []));
        return TemplateReader.Read("rig.template.json", TemplateWriter.Write(fitted.Template));
    }

    /// <summary>Places a template on another head by looking.</summary>
    internal PlacementResult Place(TemplateHead template, string head, bool symmetric = false)
    {
        PlacementResult looked = Look(head, symmetric);
        return looked with
        {
            Template = template,
            Placement = LatticeRegistration.Place(new PreparedTemplate(template), template.Lattice, looked.Registration!).Placement,
        };
    }

    /// <summary>The whole path.</summary>
    internal PlacementResult Run(HeadScan scan, PlacementOptions options) => _pipeline.Run(scan, options, TestContext.Current.CancellationToken);

    /// <inheritdoc/>
    public void Dispose() => _pipeline.Dispose();
}
