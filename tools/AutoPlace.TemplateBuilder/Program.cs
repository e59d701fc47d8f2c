using AutoPlace.Template;
using AutoPlace.TemplateBuilder;
using AutoPlace.TemplateBuilder.Cast;
using AutoPlace.TemplateBuilder.Cast.Measuring;

switch (args)
{
    case ["build", "--morphable", var morphable, "--out", var output]:
        byte[] json = TemplateWriter.Write(new TemplateBuild(morphable).Template());
        OutputFile.Write(output, json);
        Report(output, TemplateReader.Read(output, json));
        return 0;
    case ["demo", "--out", var folder, .. var names]:
        DemoCast.Write(folder, names);
        return 0;
    case ["measure", var folder, .. var rest] when MeasureOptions.TryRead(rest) is { } options:
        return CastMeasurement.Run(folder, options);
    case ["correct", var folder]:
        return CorrectionMeasurement.Run(folder, listed: false);
    case ["correct", var folder, "--list"]:
        return CorrectionMeasurement.Run(folder, listed: true);
    case ["rigs", var folder]:
        return RigMeasurement.Run(folder);
    case ["loops"]:
        return LoopMeasurement.Run(null);
    case ["loops", var folder]:
        return LoopMeasurement.Run(folder);
    case ["turn", "--poses", var poses, .. var files] when int.TryParse(poses, out int count) && count > 0 && files.Length > 0:
        return TurnMeasurement.Run(files, count);
    default:
        Console.Error.WriteLine("usage: AutoPlace.TemplateBuilder build --morphable DIR --out FILE");
        Console.Error.WriteLine("       AutoPlace.TemplateBuilder demo --out DIR [NAME]...");
        Console.Error.WriteLine("       AutoPlace.TemplateBuilder measure DIR [--sheet FILE] [--pictures DIR]");
        Console.Error.WriteLine("       AutoPlace.TemplateBuilder correct DIR [--list]");
        Console.Error.WriteLine("       AutoPlace.TemplateBuilder rigs DIR");
        Console.Error.WriteLine("       AutoPlace.TemplateBuilder loops [DIR]");
        Console.Error.WriteLine("       AutoPlace.TemplateBuilder turn --poses N FILE...");
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
