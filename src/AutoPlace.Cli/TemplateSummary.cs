using AutoPlace.Template;

namespace AutoPlace.Cli;

/// <summary>A template that was made of a rig, as text on the terminal.</summary>
internal static class TemplateSummary
{
    /// <summary>Writes what was inferred, for a person to look over.</summary>
    internal static void Write(TextWriter output, FittedTemplate fitted, string file)
    {
        JointLattice lattice = fitted.Template.Lattice;
        output.WriteLine($"{fitted.Template.Name}: {lattice.Joints.Count} joints");
        foreach (string line in TemplateDescription.Lines(lattice))
        {
            output.WriteLine($"  {line}");
        }

        foreach (string note in fitted.Notes)
        {
            output.WriteLine($"note: {note}");
        }

        output.WriteLine($"template in {file}; what was inferred can be edited there");
    }
}
