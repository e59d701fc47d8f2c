using System.Globalization;
using System.Text;
using AutoPlace.Geometry;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Cast.Files;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>Writes puppets and where their joints truly are.</summary>
internal static class DemoCast
{
    /// <summary>Writes the whole cast, or those named.</summary>
    /// <param name="folder">Folder for the files.</param>
    /// <param name="names">Names of puppets; none for all.</param>
    public static void Write(string folder, IReadOnlyList<string> names)
    {
        Directory.CreateDirectory(folder);
        TemplateHead template = BuiltInTemplate.Load();
        foreach (Puppet puppet in LanternMarket.Cast.Where(puppet => names.Count == 0 || names.Contains(puppet.Name)))
        {
            string file = $"{puppet.Name}.{puppet.Form.Extension}";
            (byte[] mesh, PolygonMesh head) = MeshFile(template, puppet);
            OutputFile.Write(Path.Combine(folder, file), mesh);
            OutputFile.Write(Path.Combine(folder, puppet.Name + ".joints.json"), TrueJoints(template, puppet, file));
            Console.WriteLine($"{file}: {head.VertexCount} vertices, {head.FaceCount} faces, {mesh.Length / 1024} KB");
        }
    }

    /// <summary>A puppet's shape.</summary>
    public static PuppetShape ShapeOf(TemplateHead template, Puppet puppet) => new(template, puppet.Change, puppet.Eyes, puppet.Shifts);

    private static (byte[] File, PolygonMesh Head) MeshFile(TemplateHead template, Puppet puppet)
    {
        var builder = new PuppetBuilder(new WarpedHead(template, ShapeOf(template, puppet)));
        puppet.Build(builder);
        FigureSkin? skin = puppet.Figure?.Invoke(builder.Mesh);
        (PolygonMesh mesh, string[] parts) = builder.Mesh.Build();
        byte[] file = puppet.Form.Extension switch
        {
            "glb" => GlbHeadFile.Write(puppet.Name, mesh, parts, puppet.Form, skin),
            "obj" => ObjHeadFile.Write(puppet.Name, mesh, parts, puppet.Form),
            "ply" => PlyHeadFile.Write(puppet.Name, mesh, puppet.Form),
            _ => throw new InvalidOperationException($"{puppet.Name}: no writer for .{puppet.Form.Extension}"),
        };
        return (file, mesh);
    }

    // One joint a line, so that a change of one joint shows as one line.
    private static byte[] TrueJoints(TemplateHead template, Puppet puppet, string file)
    {
        FileForm form = puppet.Form;
        PuppetShape shape = ShapeOf(template, puppet);
        IReadOnlyList<ControlJoint> joints = template.Lattice.Joints;
        Vector3d[] positions = TrueLattice.Joints(template, shape);
        var text = new StringBuilder();
        text.Append("{\n  \"mesh\": ").Append(Quoted(file));
        text.Append(",\n  \"interocularDistance\": ").Append(Number(2 * shape.EyePivot.X * form.UnitsPerAtlasUnit));
        text.Append(",\n  \"frame\": {\"origin\": ").Append(Vector(form.ToFile(shape.EyePivot with { X = 0 })));
        text.Append(", \"left\": ").Append(Vector(form.Left)).Append(", \"up\": ").Append(Vector(form.Up)).Append(", \"front\": ").Append(Vector(form.Front)).Append('}');
        text.Append(",\n  \"joints\": [");
        for (int i = 0; i < joints.Count; i++)
        {
            text.Append(i == 0 ? "\n" : ",\n").Append("    {\"name\": ").Append(Quoted(joints[i].Name)).Append(", \"position\": ").Append(Vector(form.ToFile(positions[i])));
            text.Append(", \"parent\": ").Append(joints[i].Parent is { } parent ? Quoted(parent) : "null").Append('}');
        }

        text.Append("\n  ]");
        if (puppet.Shifts.Count > 0)
        {
            Vector3d[] symmetric = TrueLattice.Joints(template, new PuppetShape(template, puppet.Change, puppet.Eyes, []));
            text.Append(",\n  \"knownOffsets\": [");
            foreach (JointShift shift in puppet.Shifts)
            {
                int i = Enumerable.Range(0, joints.Count).Single(k => joints[k].Name == shift.Joint);
                Vector3d offset = form.Direction(positions[i] - symmetric[i]) * form.UnitsPerAtlasUnit;
                text.Append(shift == puppet.Shifts[0] ? "\n" : ",\n").Append("    {\"joint\": ").Append(Quoted(shift.Joint)).Append(", \"offset\": ").Append(Vector(offset)).Append('}');
            }

            text.Append("\n  ]");
        }

        return Encoding.UTF8.GetBytes(text.Append("\n}\n").ToString());

        string Vector(Vector3d v) => $"[{Number(v.X)}, {Number(v.Y)}, {Number(v.Z)}]";

        // To a millionth of the head's size.
        string Number(double value)
        {
            int decimals = 6 - (int)Math.Floor(Math.Log10(form.UnitsPerAtlasUnit));
            double rounded = Math.Round(value, Math.Clamp(decimals, 0, 9));
            return (rounded == 0 ? 0 : rounded).ToString("0.#########", CultureInfo.InvariantCulture);
        }
    }

    private static string Quoted(string text) => $"\"{text}\"";
}
