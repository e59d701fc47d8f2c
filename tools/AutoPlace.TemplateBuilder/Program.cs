using AutoPlace.Template;
using AutoPlace.TemplateBuilder;

switch (args)
{
    case ["build", "--morphable", var morphable, "--out", var output]:
        byte[] json = TemplateWriter.Write(new TemplateBuild(morphable).Template());
        OutputFile.Write(output, json);
        Report(output, TemplateReader.Read(output, json));
        return 0;
    case ["demo", "--morphable", var morphable, "--out", var folder]:
        new TemplateBuild(morphable).WriteDemoHeads(folder);
        return 0;
    default:
        Console.Error.WriteLine("usage: AutoPlace.TemplateBuilder build --morphable DIR --out FILE");
        Console.Error.WriteLine("       AutoPlace.TemplateBuilder demo --morphable DIR --out DIR");
        return 2;
}

static void Report(string file, TemplateHead template)
{
    Console.WriteLine($"{file}: {template.Mesh.VertexCount} vertices, {template.Mesh.FaceCount} faces, {template.Lattice.Joints.Count} joints ({template.ReducedJoints.Count} reduced)");
    foreach (IGrouping<string?, ControlJoint> region in template.Lattice.Joints.GroupBy(joint => joint.Region))
    {
        Console.WriteLine($"  {region.Key}: {region.Count()}");
    }
}
