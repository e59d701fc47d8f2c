using System.Numerics;
using System.Text;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using AutoPlace.Geometry;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Heads;

namespace AutoPlace.TemplateBuilder;

/// <summary>
/// The cast of "The Lantern Market", invented for demonstrations: each head is the reference head in another shape and
/// with another mesh, together with where its joints truly are.
/// </summary>
internal static class DemoHeads
{
    /// <summary>Metres in one interocular distance: the mean adult interpupillary breadth (ANSUR II, both sexes).</summary>
    private const double MetresPerInterocular = 0.0629;

    private static readonly JsonSerializerOptions Indented = new() { WriteIndented = true, Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    /// <summary>Writes all heads and their joints into a folder.</summary>
    public static void Write(TriangleMesh skin, TemplateHead template, double ballRadius, string folder)
    {
        Directory.CreateDirectory(folder);

        // Maren keeps the lamps: a slender realistic face.
        var maren = new ShapeChange(
            new ShapeChange.Local(new(0, -1.2, 0), 0.9, new(0.92, 1.06, 1.0), new(0, -0.04, 0)),
            new ShapeChange.Local(new(0, -0.55, 0.6), 0.35, new(0.9, 1.05, 1.0), new(0, 0, 0.05)),
            new ShapeChange.Local(new(0.8, -0.4, 0.1), 0.4, new(1, 1, 1), new(0.03, 0.02, 0.03)));
        Write("maren", maren, 144, 96);

        void Write(string name, ShapeChange change, int meridians, int parallels)
        {
            Vector3d eye = change.Apply(template.Landmarks["eye_centre_left"]);
            TriangleMesh changed = skin.WithPositions([.. skin.Positions.ToArray().Select(p => (Vector3)change.Apply(p))]);
            (PolygonMesh mesh, string[] parts) = GridHead.Build(new HeadEnvelope(changed, eye, ballRadius), eye, ballRadius, meridians, parallels);
            PolygonMesh metres = mesh.WithPositions([.. mesh.Positions.ToArray().Select(p => p * (float)MetresPerInterocular)]);
            OutputFile.Write(Path.Combine(folder, name + ".glb"), GlbHeadFile.Write(name, metres, parts));
            OutputFile.Write(Path.Combine(folder, name + ".joints.json"), TrueJoints(template, p => change.Apply(p) * MetresPerInterocular));
        }
    }

    private static byte[] TrueJoints(TemplateHead template, Func<Vector3d, Vector3d> toFile)
    {
        var joints = new JsonArray();
        foreach (ControlJoint joint in template.Lattice.Joints)
        {
            Vector3d p = toFile(joint.Position);
            joints.Add(new JsonObject
            {
                ["name"] = joint.Name,
                ["position"] = new JsonArray(Math.Round(p.X, 7), Math.Round(p.Y, 7), Math.Round(p.Z, 7)),
                ["parent"] = joint.Parent,
            });
        }

        return Encoding.UTF8.GetBytes(new JsonObject { ["joints"] = joints }.ToJsonString(Indented) + "\n");
    }
}
