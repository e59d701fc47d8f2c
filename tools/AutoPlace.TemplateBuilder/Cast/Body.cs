using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Heads;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>
/// A clothed body in A-pose below a head, with a skin: about 1.7 m tall for an adult head, set by eye, atlas
/// coordinates. The left side is listed.
/// </summary>
internal static class Body
{
    /// <summary>Height of the eyes over the ground.</summary>
    public const double EyeHeight = 25;

    private static readonly Vector3d Shoulder = new(2.75, -4.35, -1.25);
    private static readonly Vector3d Elbow = new(5.75, -7.55, -1.35);
    private static readonly Vector3d Wrist = new(8.25, -10.25, -1.0);
    private static readonly Vector3d Hip = new(1.3, -12.8, -1.0);
    private static readonly Vector3d Knee = new(1.55, -18.6, -0.9);
    private static readonly Vector3d Ankle = new(1.65, -23.8, -1.2);

    // Down the hand, across it away from the body's side, and out of the palm.
    private static readonly Vector3d HandDown = (Wrist - Elbow).Normalized();
    private static readonly Vector3d HandAhead = new(0, 0, 1);

    /// <summary>Adds the body and returns its skin.</summary>
    public static FigureSkin Add(PolygonMeshBuilder mesh)
    {
        AddLimbs(mesh, "smock", 0.45, 0.30, Smock, new(8.9, -1.9, 2), new(0, -15.4, -3.5));
        AddLimbs(mesh, "trousers", 0.12, 0.32, Trousers, new(3.2, -12, 1), new(0, -24.2, -3));
        AddLimbs(mesh, "boots", 0.3, 0.24, Boots, new(3.0, -21.8, 2.6), new(0.4, -25.1, -2.6));
        AddLimbs(mesh, "scarf", 0.15, 0.15, Scarf, new(1.9, -1.9, 0.8), new(0, -3.4, -2.9));
        AddLimbs(mesh, "hands", 0.10, 0.105, Hands(), new(11.0, -9.6, 0.4), new(7.6, -13.6, -2.2));
        return new FigureSkin(Joints, Weights);
    }

    private static List<BodyJoint> Joints { get; } = BodyJoints();

    private static RoundCone[] Smock =>
    [
        new(new(0, -3.4, -1.25), new(1.9, -4.2, -1.25), 0.95, 0.80),
        new(new(0.9, -5.6, -0.95), new(0.55, -9.6, -0.95), 1.55, 1.25, 1.15),
        new(new(0.55, -9.6, -0.95), new(1.0, -14.6, -0.95), 1.25, 1.75, 1.2),
        new(Shoulder, Elbow, 0.88, 0.66),
        new(Elbow, Wrist - (HandDown * 0.1), 0.66, 0.52),
    ];

    private static RoundCone[] Trousers => [new(Hip, Knee, 1.15, 0.78), new(Knee, Ankle, 0.78, 0.55)];

    private static RoundCone[] Boots =>
    [
        new(Ankle + new Vector3d(0, 1.4, 0), Ankle + new Vector3d(0, -0.4, -0.1), 0.80, 0.66),
        new(Ankle + new Vector3d(0, -0.62, -0.3), Ankle + new Vector3d(0.25, -0.72, 2.4), 0.56, 0.50),
    ];

    // Round the neck, over the border of the head's skin.
    private static RoundCone[] Scarf => [.. Enumerable.Range(0, 12).Select(k => new RoundCone(Round(k), Round(k + 1), 0.36, 0.36))];

    private static Vector3d Round(int k)
    {
        double turn = Math.PI * k / 12;
        return new Vector3d(1.02 * Math.Sin(turn), -2.62 - (0.16 * Math.Cos(turn)), -1.10 + (1.02 * Math.Cos(turn)));
    }

    private static RoundCone[] Hands()
    {
        Vector3d palm = Wrist + (HandDown * 0.75), knuckles = Wrist + (HandDown * 1.45);
        (double Ahead, double Length, double Radius)[] fingers = [(0.40, 1.10, 0.135), (0.13, 1.25, 0.14), (-0.14, 1.15, 0.135), (-0.39, 0.90, 0.12)];
        Vector3d thumb = palm + (HandAhead * 0.42) - (HandDown * 0.25);
        return
        [
            new(Wrist - (HandDown * 0.35), palm, 0.36, 0.40),
            new(palm + (HandAhead * 0.18), knuckles + (HandAhead * 0.30), 0.27, 0.20),
            new(palm - (HandAhead * 0.18), knuckles - (HandAhead * 0.28), 0.27, 0.19),
            new(thumb, thumb + (HandDown * 0.62) + (HandAhead * 0.42), 0.21, 0.14),
            .. fingers.Select(f => new RoundCone(
                knuckles + (HandAhead * f.Ahead), knuckles + (HandDown * f.Length) + (HandAhead * f.Ahead * 1.25), f.Radius, f.Radius * 0.8)),
        ];
    }

    private static void AddLimbs(PolygonMeshBuilder mesh, string part, double blend, double cell, RoundCone[] limbs, Vector3d high, Vector3d low)
    {
        // Both sides at once where they meet, so that they flow into each other.
        bool meets = low.X == 0;
        RoundCone[] all = [.. limbs, .. limbs.Select(limb => limb with { From = Mirror(limb.From), To = Mirror(limb.To) })];
        if (meets)
        {
            SurfaceNets.Add(mesh, part, p => RoundCone.Distance(all, blend, p), low with { X = -high.X }, high, cell);
            return;
        }

        SurfaceNets.Add(mesh, part, p => RoundCone.Distance(limbs, blend, p), low, high, cell);
        SurfaceNets.Add(mesh, part, p => RoundCone.Distance(limbs, blend, Mirror(p)), low with { X = -high.X }, high with { X = -low.X }, cell);
    }

    private static Vector3d Mirror(Vector3d p) => p with { X = -p.X };

    private static List<BodyJoint> BodyJoints()
    {
        var joints = new List<BodyJoint>
        {
            new("hips", -1, new(0, -12.2, -1.0)), new("spine", 0, new(0, -9.8, -1.1)), new("chest", 1, new(0, -7.0, -1.3)),
            new("neck", 2, new(0, -3.2, -1.35)), new("head", 3, new(0, -1.2, -1.0)),
        };
        foreach ((string side, Func<Vector3d, Vector3d> place) in (ReadOnlySpan<(string, Func<Vector3d, Vector3d>)>)[("left", p => p), ("right", Mirror)])
        {
            Chain(2, [("upper_arm_", Shoulder), ("forearm_", Elbow), ("hand_", Wrist)]);
            Chain(0, [("thigh_", Hip), ("shin_", Knee), ("foot_", Ankle)]);

            void Chain(int parent, (string Name, Vector3d At)[] chain)
            {
                foreach ((string name, Vector3d at) in chain)
                {
                    joints.Add(new BodyJoint(name + side, parent, place(at)));
                    parent = joints.Count - 1;
                }
            }
        }

        return joints;
    }

    // The head turns as one; below it, the nearer a bone, the more it carries, by the fourth power.
    private static (int Joint, double Weight)[] Weights(string part, Vector3d p)
    {
        const int Neck = 3, Head = 4;
        const double NeckEnd = -2.5, HeadBegins = -1.7;
        if (part is "skin" or "eyeball_left" or "eyeball_right")
        {
            double t = Math.Clamp((p.Y - NeckEnd) / (HeadBegins - NeckEnd), 0, 1);
            double head = t * t * (3 - (2 * t));
            return head == 1 ? [(Head, 1)] : head >= 0.5 ? [(Head, head), (Neck, 1 - head)] : [(Neck, 1 - head), (Head, head)];
        }

        (int Joint, double Weight)[] nearest = [.. Joints.Select((_, j) => (j, 1 / (Math.Pow(BoneDistance(j, p), 4) + 1e-4))).Where(w => w.j != Head).OrderByDescending(w => w.Item2).Take(4)];
        double sum = nearest.Sum(w => w.Weight);
        return [.. nearest.Select(w => (w.Joint, w.Weight / sum))];
    }

    // From the joint to its last child; joints at the end of a chain go on as far as they came.
    private static double BoneDistance(int joint, Vector3d p)
    {
        Vector3d from = Joints[joint].Position;
        int child = Joints.FindIndex(other => other.Parent == joint);
        Vector3d to = child >= 0 ? Joints[child].Position : from + ((from - Joints[Joints[joint].Parent].Position) * 0.5);
        double t = Math.Clamp(Vector3d.Dot(p - from, to - from) / (to - from).LengthSquared, 0, 1);
        return Vector3d.Distance(p, Vector3d.Lerp(from, to, t));
    }
}
