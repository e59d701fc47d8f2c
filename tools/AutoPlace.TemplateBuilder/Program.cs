using AutoPlace.Template;
using AutoPlace.TemplateBuilder;

if (args is not ["build", "--morphable", var morphable, "--out", var output])
{
    Console.Error.WriteLine("usage: AutoPlace.TemplateBuilder build --morphable DIR --out FILE");
    return 2;
}

byte[] json = TemplateWriter.Write(TemplateBuild.Run(morphable));
string temporary = output + ".tmp";
File.WriteAllBytes(temporary, json);
File.Move(temporary, output, overwrite: true);
TemplateHead template = TemplateReader.Read(output, json);
Console.WriteLine($"{output}: {template.Mesh.VertexCount} vertices, {template.Mesh.FaceCount} faces, {template.Lattice.Joints.Count} joints ({template.ReducedJoints.Count} reduced)");
foreach (IGrouping<string?, ControlJoint> region in template.Lattice.Joints.GroupBy(joint => joint.Region))
{
    Console.WriteLine($"  {region.Key}: {region.Count()}");
}

return 0;
