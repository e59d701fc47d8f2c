using System.Text.Json;
using AutoPlace.Conditioning;
using AutoPlace.Landmarks;
using AutoPlace.Registration;
using AutoPlace.Template;
using AutoPlace.Verification;

namespace AutoPlace.Export;

/// <summary>
/// Reads placement.json strictly: every key must be there and no other, values must be of the right kind, parents
/// come before children, rows and columns name joints that exist.
/// </summary>
internal static class PlacementJsonReader
{
    internal static PlacementDocument Read(Stream stream, string file)
    {
        ArgumentNullException.ThrowIfNull(stream);
        ArgumentNullException.ThrowIfNull(file);
        using JsonDocument json = JsonElementCursor.Parse(stream, file);
        return ReadDocument(new JsonElementCursor(file, "", json.RootElement));
    }

    private static PlacementDocument ReadDocument(JsonElementCursor root)
    {
        root.Object("format", "version", "head", "template", "model", "landmarks", "joints", "rows", "columns", "findings", "timings");
        root.Key("format").Exactly(PlacementJson.Format);
        root.Key("version").Exactly(PlacementJson.Version);
        PlacedHead head = ReadHead(root.Key("head"));
        IReadOnlyList<PlacedLandmark> landmarks = root.Key("landmarks").NamedItems(landmark => ReadLandmark(landmark, head.Frame), l => l.Name);
        IReadOnlyList<PlacedJoint> joints = root.Key("joints").Items(joint => ReadJoint(joint, head.Frame));
        HashSet<string> names = CheckJoints(root.Key("joints"), joints);
        return new PlacementDocument
        {
            Head = head,
            Template = ReadTemplate(root.Key("template")),
            Model = ReadModel(root.Key("model")),
            Landmarks = landmarks,
            Joints = joints,
            Rows = ReadSequences(root.Key("rows"), names),
            Columns = ReadSequences(root.Key("columns"), names),
            Findings = root.Key("findings").Items(ReadFinding),
            Timings = root.Key("timings").Items(ReadTiming),
        };
    }

    private static PlacedHead ReadHead(JsonElementCursor head)
    {
        head.Object("source", "sha256", "metresPerUnit", "interocularDistance", "frame", "neutral", "needsPerson");
        JsonElementCursor neutral = head.Key("neutral");
        if (neutral.Json.ValueKind != JsonValueKind.Object)
        {
            throw neutral.Wrong("expected an object");
        }

        JsonElementCursor person = head.Key("needsPerson").Object("probability", "reasons");
        return new PlacedHead(
            head.Key("source").Name(),
            head.Key("sha256").Sha256(),
            head.Key("metresPerUnit").Positive(),
            head.Key("frame").Frame(head.Key("interocularDistance").Positive()),
            neutral.Json.EnumerateObject().ToDictionary(p => p.Name, p => neutral.Key(p.Name).Number(), StringComparer.Ordinal),
            new NeedsPerson(Probability(person.Key("probability")), person.Key("reasons").Items(static r => r.Text())));
    }

    private static double Probability(JsonElementCursor element)
    {
        double value = element.Number();
        return value is >= 0 and <= 1 ? value : throw element.Wrong($"{value} is not between 0 and 1");
    }

    private static PlacedTemplate ReadTemplate(JsonElementCursor template)
    {
        template.Object("name", "version", "sha256", "lattice");
        return new PlacedTemplate(
            template.Key("name").Name(),
            template.Key("version").Name(),
            template.Key("sha256").Sha256(),
            (LatticeExtent)template.Key("lattice").Word(PlacementWords.Levels));
    }

    private static ModelIdentity ReadModel(JsonElementCursor model)
    {
        model.Object("name", "version", "sha256");
        return new ModelIdentity(model.Key("name").Name(), model.Key("version").Name(), model.Key("sha256").Sha256());
    }

    private static PlacedLandmark ReadLandmark(JsonElementCursor landmark, HeadFrame frame)
    {
        landmark.Object("name", "position", "radius90", "source");
        string name = landmark.Key("name").Name();
        return new PlacedLandmark(
            name,
            landmark.Key("position").Position(name, frame),
            landmark.Key("radius90").NonNegative(),
            (LandmarkSource)landmark.Key("source").Word(PlacementWords.Sources));
    }

    private static PlacedJoint ReadJoint(JsonElementCursor joint, HeadFrame frame)
    {
        joint.Object(
            "name", "region", "side", "kind", "parent", "position", "rotation", "local", "localSize", "state", "lift", "radius90", "lock");
        JsonElementCursor side = joint.Key("side");
        JsonElementCursor local = joint.Key("local").Object("translation", "rotation");
        JsonElementCursor locks = joint.Key("lock").Object("position", "rotation");
        string name = joint.Key("name").Name();
        return new PlacedJoint
        {
            Name = name,
            Region = joint.Key("region").NameOrNull(),
            Side = side.Json.ValueKind == JsonValueKind.Null ? null : (Side)side.Word(PlacementWords.Sides),
            Kind = (JointKind)joint.Key("kind").Word(PlacementWords.Kinds),
            Parent = joint.Key("parent").NameOrNull(),
            Position = joint.Key("position").Position(name, frame),
            Rotation = joint.Key("rotation").Rotation(),
            LocalTranslation = local.Key("translation").Vector(),
            LocalRotation = local.Key("rotation").Rotation(),
            LocalSize = joint.Key("localSize").Positive(),
            State = (JointState)joint.Key("state").Word(PlacementWords.States),
            Lift = joint.Key("lift").Lift(frame),
            Radius90 = joint.Key("radius90").NonNegative(),
            PositionLocked = locks.Key("position").Flag(),
            RotationLocked = locks.Key("rotation").Flag(),
        };
    }

    private static IReadOnlyList<JointSequence> ReadSequences(JsonElementCursor sequences, HashSet<string> jointNames)
    {
        return sequences.NamedItems(sequence =>
        {
            sequence.Object("name", "joints", "closed");
            IReadOnlyList<string> joints = sequence.Key("joints").Items(joint =>
            {
                string name = joint.Name();
                return jointNames.Contains(name) ? name : throw joint.Wrong($"there is no joint \"{name}\"");
            });
            return new JointSequence(sequence.Key("name").Name(), joints, sequence.Key("closed").Flag());
        }, s => s.Name);
    }

    private static Finding ReadFinding(JsonElementCursor finding)
    {
        finding.Object("check", "severity", "subject", "value", "limit", "unit", "message");
        return new Finding(
            finding.Key("check").Name(),
            (Severity)finding.Key("severity").Word(PlacementWords.Severities),
            finding.Key("subject").Text(),
            finding.Key("value").Number(),
            finding.Key("limit").Number(),
            finding.Key("unit").Text(),
            finding.Key("message").Text());
    }

    private static StageTiming ReadTiming(JsonElementCursor timing)
    {
        timing.Object("stage", "ms");
        return new StageTiming(timing.Key("stage").Name(), timing.Key("ms").NonNegative());
    }

    private static HashSet<string> CheckJoints(JsonElementCursor element, IReadOnlyList<PlacedJoint> joints)
    {
        var earlier = new HashSet<string>(joints.Count, StringComparer.Ordinal);
        for (int j = 0; j < joints.Count; j++)
        {
            PlacedJoint joint = joints[j];
            if (joint.Parent is not null && !earlier.Contains(joint.Parent))
            {
                throw new PlacementFormatException(
                    element.File, $"joints[{j}].parent", $"\"{joint.Parent}\" is no earlier joint (parents come before children)");
            }

            if (!earlier.Add(joint.Name))
            {
                throw new PlacementFormatException(element.File, $"joints[{j}].name", $"\"{joint.Name}\" is used twice");
            }
        }

        return earlier;
    }
}
