using System.Text.Json;
using AutoPlace.Geometry;
using AutoPlace.Template;
using AutoPlace.TemplateBuilder.Cast.Measuring;

namespace AutoPlace.Tests.Rigs;

/// <summary>Rigs made of a demonstration head's true joints, in the coordinates of its file.</summary>
internal static class DemoRig
{
    private static readonly Dictionary<string, string?> Parents =
        BuiltInTemplate.Load().Lattice.Joints.ToDictionary(joint => joint.Name, joint => joint.Parent, StringComparer.Ordinal);

    /// <summary>All true joints with the built-in parents, unturned.</summary>
    public static List<RigJoint> Of(TruthFile truth) =>
        [.. truth.Joints.Select(joint => new RigJoint(joint.Key, Parents[joint.Key], joint.Value, Rotation3d.Identity))];

    /// <summary>Some of them; a joint whose parent is left out hangs on the nearest ancestor that stays.</summary>
    public static List<RigJoint> Only(this IReadOnlyList<RigJoint> joints, params string[] names)
    {
        return [.. joints.Where(joint => names.Contains(joint.Name)).Select(joint => joint with { Parent = Staying(joint.Parent) })];

        string? Staying(string? parent) => parent is null || names.Contains(parent) ? parent : Staying(joints.Single(joint => joint.Name == parent).Parent);
    }

    /// <summary>Every name changed, in the parents too.</summary>
    public static List<RigJoint> Renamed(this IEnumerable<RigJoint> joints, Func<string, string> rename) =>
        [.. joints.Select(joint => joint with { Name = rename(joint.Name), Parent = joint.Parent is { } parent ? rename(parent) : null })];

    /// <summary>Turned at random, right joints so that their frames are mirrored by a convention; midline joints about the axis across.</summary>
    /// <param name="joints">The joints.</param>
    /// <param name="truth">The head, whose left says what is mirrored.</param>
    /// <param name="convention">D of R' = S R D.</param>
    /// <param name="seed">Where the turns begin.</param>
    public static List<RigJoint> Turned(this IEnumerable<RigJoint> joints, TruthFile truth, Matrix3d convention, int seed)
    {
        Matrix3d mirror = Matrix3d.Identity + (Matrix3d.Outer(truth.Left, truth.Left) * -2);
        return [.. joints.Select(Turn)];

        RigJoint Turn(RigJoint joint)
        {
            string stem = joint.Name.Replace("_left", "", StringComparison.Ordinal).Replace("_right", "", StringComparison.Ordinal);
            var random = new Random(seed + stem.Sum(letter => letter * 31));
            Rotation3d turn = new Rotation3d(random.NextDouble() - 0.5, random.NextDouble() - 0.5, random.NextDouble() - 0.5, random.NextDouble() - 0.5).Normalized();
            double angle = 3 * random.NextDouble();
            Vector3d about = truth.Left * Math.Sin(angle / 2);
            bool isRight = joint.Name.EndsWith("_right", StringComparison.Ordinal), isLeft = joint.Name.EndsWith("_left", StringComparison.Ordinal);
            return joint with
            {
                Rotation = isRight ? Rotation3d.FromMatrix(mirror * turn.ToMatrix() * convention)
                    : isLeft ? turn : new Rotation3d(about.X, about.Y, about.Z, Math.Cos(angle / 2)),
            };
        }
    }

    /// <summary>The rig as a rig file in JSON.</summary>
    public static byte[] ToJson(this IReadOnlyList<RigJoint> joints) => JsonSerializer.SerializeToUtf8Bytes(new
    {
        joints = joints.Select(joint => new
        {
            name = joint.Name,
            parent = joint.Parent,
            position = Numbers(joint.Position),
            rotation = Numbers(joint.Rotation),
        }),
    });

    /// <summary>The rig as a glTF file in text, parents by nesting, all but the plain nodes in one skin.</summary>
    public static byte[] ToGltf(this IReadOnlyList<RigJoint> joints)
    {
        var index = joints.Select((joint, i) => (joint.Name, i)).ToDictionary(StringComparer.Ordinal);
        return JsonSerializer.SerializeToUtf8Bytes(new
        {
            asset = new { version = "2.0" },
            scene = 0,
            scenes = new[] { new { nodes = Enumerable.Range(0, joints.Count).Where(i => joints[i].Parent is null) } },
            nodes = joints.Select(Node),
            skins = new[] { new { joints = Enumerable.Range(0, joints.Count).Where(i => joints[i].IsJoint) } },
        });

        Dictionary<string, object> Node(RigJoint joint)
        {
            RigJoint? parent = joint.Parent is { } name ? joints[index[name]] : null;
            Rotation3d back = parent?.Rotation.Inverse() ?? Rotation3d.Identity;
            int[] children = [.. Enumerable.Range(0, joints.Count).Where(i => joints[i].Parent == joint.Name)];
            var node = new Dictionary<string, object>
            {
                ["name"] = joint.Name,
                ["translation"] = Numbers(back.Rotate(joint.Position - (parent?.Position ?? Vector3d.Zero))),
                ["rotation"] = Numbers(back * joint.Rotation),
            };
            if (children.Length > 0)
            {
                node.Add("children", children);
            }

            return node;
        }
    }

    private static double[] Numbers(Vector3d v) => [v.X, v.Y, v.Z];

    private static double[] Numbers(Rotation3d q) => [q.X, q.Y, q.Z, q.W];
}
