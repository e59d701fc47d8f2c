using System.Globalization;
using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;

namespace AutoPlace;

/// <summary>A template made of a rig and the head that it was fitted to.</summary>
/// <param name="Template">The template.</param>
/// <param name="Notes">What a person should know of how it was made.</param>
public sealed record FittedTemplate(TemplateHead Template, IReadOnlyList<string> Notes);

/// <summary>Makes templates of studios' own rigs.</summary>
public static class TemplateFitting
{
    /// <summary>Beyond this from the eyes nothing belongs to a face rig, interocular distances: a grown figure is 29 of them tall (1.8 m over 63 mm).</summary>
    private const double MostDistance = 40;

    /// <summary>What is within this of the eyes is on the head, interocular distances: a head is about 4 high.</summary>
    private const double OnHead = 4;

    /// <summary>So many joints, or half of a smaller rig, are on the head, or the rig isn't: the others may be a body's.</summary>
    private const int FewestOnHead = 10;

    /// <summary>Between the quarters of the joints on the skin that lie lowest and highest over it, interocular distances, from which on a person is asked (own choice: 1.6 mm on an adult).</summary>
    private const double MostUneven = 0.025;

    /// <summary>Makes a template.</summary>
    /// <param name="name">Name of the template.</param>
    /// <param name="result">The built-in lattice placed on the head by looking.</param>
    /// <param name="rig">The rig, in the coordinates of the head's file.</param>
    /// <exception cref="ArgumentException">The head was carried over and not looked at.</exception>
    /// <exception cref="TemplateFormatException">The rig isn't on the head, or has too few or too many joints; the message names file, joint and reason.</exception>
    public static FittedTemplate Fit(string name, PlacementResult result, Rig rig)
    {
        ArgumentNullException.ThrowIfNull(result);
        ArgumentNullException.ThrowIfNull(rig);
        HeadRegistration found = result.Registration ?? throw new ArgumentException("The head was carried over, not looked at.", nameof(result));
        HeadFrame frame = result.Frame;
        var toAtlas = new HeadToAtlas(found.Mouth.Atlas, found.Controls, found.Warp);
        FittedHead head = Describe(found, toAtlas);
        rig = RigAlignment.Align(rig, point => head.Skin(frame.ToHead(point)).Lift, frame.InterocularDistance);
        IReadOnlyList<RigJoint> joints = [.. rig.Joints.Select(joint => joint with
        {
            Position = frame.ToHead(joint.Position),
            Rotation = FileCoordinates.RotationToHead(joint.Rotation, frame),
        })];
        RequireOnHead(rig, joints);
        var plane = RigPlane.Find([.. joints.Select(joint => joint.Name)], [.. joints.Select(joint => joint.Position)], FilePlane(frame));
        List<string> notes = [.. rig.Notes];
        joints = RigCompletion.Complete(joints, plane, notes);
        LatticeRules.CheckCount(rig.Source, joints.Count(joint => joint.IsJoint));
        JointLattice lattice = RigFitting.Fit(
            joints, [.. joints.Select(joint => FileCoordinates.RotationToFile(joint.Rotation, frame))], plane, head);
        if (UnevenLift(lattice) is { } uneven)
        {
            notes.Add(uneven);
        }

        var mirrored = new MirroredReading([.. lattice.Joints.Where(joint => joint is { Ride: Ride.Skin, SkinPoint: not null })
            .Select(joint => (joint, toAtlas.Apply(plane.Back(joint.SkinPoint!.Value))))]);
        var template = new TemplateHead
        {
            Name = name,
            Version = "1",
            Sha256 = string.Empty,
            Mesh = result.Scan.Mesh.WithPositions([.. frame.ToHead(result.Scan.Mesh.Positions).Select(p => (Vector3)plane.Along(p))]),
            FaceParts = FaceParts(result.Scan, result.HeadMesh, found.Evidence),
            AtlasPositions = AtlasPositions(result, point => mirrored.Apply(toAtlas.Apply(point))),
            Landmarks = Landmarks(found.Evidence, plane),
            EyeballRadius = (found.Evidence.EyeballLeft.Radius + found.Evidence.EyeballRight.Radius) / 2,
            Lattice = lattice,
            ReducedJoints = [],
        };
        return new FittedTemplate(template, notes);
    }

    private static void RequireOnHead(Rig rig, IReadOnlyList<RigJoint> joints)
    {
        int near = joints.Count(joint => joint.Position.Length <= OnHead);
        if (near < Math.Min(FewestOnHead, (joints.Count + 1) / 2))
        {
            RigJoint nearest = joints.MinBy(joint => joint.Position.Length)!;
            throw new TemplateFormatException(
                rig.Source,
                $"joint '{nearest.Name}'",
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"the nearest of {joints.Count} joints lies {nearest.Position.Length:0.#} interocular distances from the eyes, and {near} are within {OnHead}: the rig isn't on this head"));
        }

        if (joints.FirstOrDefault(joint => joint.Position.Length > MostDistance) is { } far)
        {
            throw new TemplateFormatException(
                rig.Source,
                $"joint '{far.Name}'",
                string.Create(
                    CultureInfo.InvariantCulture,
                    $"lies {far.Position.Length:0.#} interocular distances from the eyes of the head, too far for a face rig ({MostDistance})"));
        }
    }

    // Joints under the skin on purpose are so by about the same; those of another head are over it here and under it there.
    private static string? UnevenLift(JointLattice lattice)
    {
        double[] lifts = [.. lattice.Joints.Where(joint => joint.Ride == Ride.Skin).Select(joint => joint.Lift).Order()];
        if (lifts.Length < FewestOnHead || lifts[lifts.Length * 3 / 4] - lifts[lifts.Length / 4] <= MostUneven)
        {
            return null;
        }

        return string.Create(
            CultureInfo.InvariantCulture,
            $"a quarter of the joints on the skin lie {100 * lifts[lifts.Length / 4]:0.0} % of the interocular distance from it or lower, a quarter {100 * lifts[lifts.Length * 3 / 4]:0.0} % or higher: was the rig fitted to this version of this head?");
    }

    private static FittedHead Describe(HeadRegistration found, HeadToAtlas toAtlas) => new()
    {
        Atlas = found.Mouth.Atlas.Head,
        ToAtlas = toAtlas.Apply,
        MouthToAtlas = found.Mouth.Of(found.Mouth.Atlas).Where(part => part.Value.State == JointState.Modelled)
            .ToDictionary(part => part.Key, part => part.Value.Similarity.Inverse()),
        EyeLeft = new FittedEye(found.Evidence.EyeballLeft.Centre, found.Evidence.EyeballLeft.Radius),
        EyeRight = new FittedEye(found.Evidence.EyeballRight.Centre, found.Evidence.EyeballRight.Radius),
        Skin = point =>
        {
            SkinPlace place = found.Evidence.Skin.Nearest(point, double.PositiveInfinity)!.Value;
            Vector3d off = point - place.Position;
            return new SkinFoot(place.Position, place.Normal, Vector3d.Dot(off, place.Normal) < 0 ? -off.Length : off.Length);
        },
    };

    // Where modellers mirror: the plane through the file's origin, across the axis that points to the left.
    private static RigPlane[] FilePlane(HeadFrame frame)
    {
        Vector3d axis = new[] { Vector3d.UnitX, Vector3d.UnitY, Vector3d.UnitZ }.MaxBy(a => Math.Abs(Vector3d.Dot(a, frame.Left)));
        axis *= Math.Sign(Vector3d.Dot(axis, frame.Left));
        return [new RigPlane(frame.DirectionToHead(axis), -Vector3d.Dot(axis, frame.Origin) / frame.InterocularDistance)];
    }

    private static Dictionary<string, Vector3d> Landmarks(HeadEvidence evidence, RigPlane plane)
    {
        var landmarks = evidence.Landmarks.Where(l => l.Source != LandmarkSource.Inferred)
            .ToDictionary(l => l.Name, l => plane.Along(l.Position), StringComparer.Ordinal);
        landmarks["eye_centre_left"] = plane.Along(evidence.EyeballLeft.Centre);
        landmarks["eye_centre_right"] = plane.Along(evidence.EyeballRight.Centre);
        return landmarks;
    }

    private static Vector3[] AtlasPositions(PlacementResult result, Func<Vector3d, Vector3d> toAtlas)
    {
        var atlas = new Vector3[result.Scan.Mesh.VertexCount];
        Vector3[] head = result.Frame.ToHead(result.Scan.Mesh.Positions);
        Parallel.For(0, atlas.Length, v => atlas[v] = (Vector3)toAtlas(head[v]));
        return atlas;
    }

    // A face is skin when one of its triangles is skin in sight; an eyeball's when all of its piece lies within the ball.
    private static string[] FaceParts(HeadScan scan, TriangleMesh head, HeadEvidence evidence)
    {
        const double Shell = 1.15;
        var skin = new HashSet<(int, int, int)>();
        ReadOnlySpan<int> indices = evidence.Skin.Mesh.Indices;
        for (int i = 0; i < indices.Length; i += 3)
        {
            skin.Add(Sorted(indices.Slice(i, 3)));
        }

        TriangleMesh all = scan.Mesh.Triangulate(out int[] faces);
        bool[] isSkin = new bool[scan.Mesh.FaceCount];
        for (int t = 0; t < faces.Length; t++)
        {
            ReadOnlySpan<int> corners = all.Indices.Slice(3 * t, 3);
            isSkin[faces[t]] |= skin.Contains(Sorted(corners)) && head.Positions[corners[0]].Length() <= OnHead;
        }

        MeshComponents pieces = MeshComponents.OfParts(scan);
        bool[] left = Within(evidence.EyeballLeft), right = Within(evidence.EyeballRight);
        return [.. isSkin.Select((isIt, f) => left[pieces.FaceComponents[f]] ? "eyeball_left"
            : right[pieces.FaceComponents[f]] ? "eyeball_right"
            : isIt ? "skin" : "other")];

        bool[] Within(Eyeball ball)
        {
            bool[] within = new bool[pieces.Count];
            Array.Fill(within, ball is { IsModelled: true, IsPlate: false });
            for (int f = 0; f < scan.Mesh.FaceCount; f++)
            {
                foreach (int v in scan.Mesh.Face(f))
                {
                    within[pieces.FaceComponents[f]] &= Vector3d.Distance(head.Positions[v], ball.Centre) <= Shell * ball.Radius;
                }
            }

            return within;
        }
    }

    private static (int, int, int) Sorted(ReadOnlySpan<int> corners)
    {
        (int a, int b, int c) = (corners[0], corners[1], corners[2]);
        (int least, int most) = (Math.Min(a, Math.Min(b, c)), Math.Max(a, Math.Max(b, c)));
        return (least, a + b + c - least - most, most);
    }
}
