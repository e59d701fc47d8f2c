using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Lattice;

namespace AutoPlace.TemplateBuilder.Heads.Modelled;

/// <summary>Seven teeth a side in each arch, gums and a tongue, placed after the mean's dental arches.</summary>
internal static class Dentition
{
    private const double CrownHeight = 0.20;

    /// <summary>Adds everything inside the mouth.</summary>
    public static void Add(PolygonMeshBuilder mesh, MeanGuides guides)
    {
        AddArch(mesh, guides, upper: true);
        AddArch(mesh, guides, upper: false);
        AddTongue(mesh);
    }

    private static void AddArch(PolygonMeshBuilder mesh, MeanGuides guides, bool upper)
    {
        string side = upper ? "upper" : "lower";
        Vector3d[] centres = [.. Enumerable.Range(1, MeanGuides.Teeth).Select(number => Crown(guides, upper, number))];

        // Neighbours touch: each tooth fills the arch from the border with the one before to that with the next. Borders
        // lie halfway, but upper central incisors are broader than lateral ones: 8.71 to 6.75 mm (J Prosthet Dent
        // 2015;113:565).
        double first = upper ? 8.71 / (8.71 + 6.75) : 0.5;
        Vector3d[] borders =
        [
            centres[0] with { X = 0 }, .. centres.Zip(centres.Skip(1), (a, b) => Vector3d.Lerp(a, b, a == centres[0] ? first : 0.5)),
            (centres[^1] * 1.5) - (centres[^2] * 0.5),
        ];
        for (int k = 0; k < centres.Length; k++)
        {
            Vector3d span = (borders[k + 1] - borders[k]) with { Y = 0 };
            Vector3d along = span.Normalized();
            Vector3d outward = Vector3d.Cross(along, Vector3d.UnitY);
            double width = span.Length * 0.96;
            double depth = Math.Min(0.13 + (0.015 * k), 0.19);
            Vector3d centre = ((borders[k] + borders[k + 1]) * 0.5) with { Y = centres[k].Y };

            // Front teeth end in an edge, back teeth in a broad face.
            double edge = k < 2 ? 0.30 : k == 2 ? 0.45 : 0.85;
            CubeSphere.AddPair(mesh, 2, $"teeth_{side}", $"teeth_{side}", direction =>
            {
                Vector3d p = Boxed(direction);
                double bite = upper ? -p.Y : p.Y;
                double taper = 1 + ((edge - 1) * Math.Max(bite, 0));
                return centre + (along * (p.X * width / 2)) + (Vector3d.UnitY * (p.Y * CrownHeight / 2)) + (outward * (p.Z * taper * depth / 2));
            });
        }

        AddGums(mesh, $"gums_{side}", centres, upper);
    }

    // The middle of the crown: teeth of the mean reach far into the bone, and behind the front teeth their
    // cusps into each other. There both arches meet halfway, a hair apart; in front the upper teeth overlap the lower.
    private static Vector3d Crown(MeanGuides guides, bool upper, int number)
    {
        const double HalfGap = 0.002;
        (Vector3d low, Vector3d high) = guides.Tooth(upper, number);
        double bite = upper ? low.Y : high.Y;
        if (number > 1)
        {
            bite = ((guides.Tooth(upper: true, number).Low.Y + guides.Tooth(upper: false, number).High.Y) / 2) + (upper ? HalfGap : -HalfGap);
        }

        return ((low + high) * 0.5) with { Y = upper ? bite + (CrownHeight / 2) : bite - (CrownHeight / 2) };
    }

    // From a sphere towards a cube with rounded edges.
    private static Vector3d Boxed(Vector3d direction)
    {
        double reach = Math.Max(Math.Abs(direction.X), Math.Max(Math.Abs(direction.Y), Math.Abs(direction.Z)));
        return Vector3d.Lerp(direction, direction / reach, 0.72);
    }

    // A band over the arch, from outside over the necks of the teeth to inside.
    private static void AddGums(PolygonMeshBuilder mesh, string part, Vector3d[] centres, bool upper)
    {
        double sign = upper ? 1 : -1;
        (double Out, double Up)[] profile = [(0.030, 0.16), (0.055, 0.12), (0.066, 0.060), (0.0, 0.075), (-0.075, 0.060), (-0.090, 0.12), (-0.080, 0.17)];
        Vector3d[] path = [centres[0] with { X = 0, Z = centres[0].Z + 0.004 }, .. centres, centres[^1] + ((centres[^1] - centres[^2]) * 0.4)];
        var half = new HalfHead();
        int[][] stations = new int[path.Length][];
        for (int k = 0; k < path.Length; k++)
        {
            Vector3d along = k == 0 ? Vector3d.UnitX : ((path[Math.Min(k + 1, path.Length - 1)] - path[k - 1]) with { Y = 0 }).Normalized();
            Vector3d outward = Vector3d.Cross(along, Vector3d.UnitY);
            stations[k] = [.. profile.Select(p => half.AddVertex(path[k] + (outward * p.Out) + new Vector3d(0, sign * p.Up, 0), pinned: true))];
        }

        for (int k = 0; k + 1 < path.Length; k++)
        {
            for (int p = 0; p + 1 < profile.Length; p++)
            {
                int[] quad = [stations[k][p], stations[k + 1][p], stations[k + 1][p + 1], stations[k][p + 1]];
                half.AddFace(part, upper ? [.. quad.Reverse()] : quad);
            }
        }

        half.AddTo(mesh);
    }

    private static void AddTongue(PolygonMeshBuilder mesh)
    {
        // Middle line of the mean's tongue from root to tip, with half width and half height.
        (double Z, double Y, double Width, double Height)[] sections =
            [(-0.66, -1.30, 0.19, 0.10), (-0.45, -1.21, 0.22, 0.13), (-0.20, -1.19, 0.23, 0.12), (0.03, -1.205, 0.165, 0.085), (0.20, -1.20, 0.085, 0.045)];
        CubeSphere.AddMiddle(mesh, 5, "tongue", direction =>
        {
            double reach = Math.Max(Math.Abs(direction.X), Math.Max(Math.Abs(direction.Y), Math.Abs(direction.Z)));
            Vector3d p = Vector3d.Lerp(direction, direction / reach, 0.5);
            double s = Math.Clamp((p.Z + 1) / 2, 0, 1) * (sections.Length - 1);
            int k = Math.Min((int)s, sections.Length - 2);
            double t = s - k;
            (double Z, double Y, double Width, double Height) a = sections[k], b = sections[k + 1];
            double width = a.Width + ((b.Width - a.Width) * t), height = a.Height + ((b.Height - a.Height) * t);

            // A shallow groove runs along the middle of the back.
            double groove = p.Y > 0 ? 0.015 * Math.Exp(-p.X * p.X * 12) : 0;
            return new Vector3d(p.X * width, a.Y + ((b.Y - a.Y) * t) + (p.Y * height) - groove, a.Z + ((b.Z - a.Z) * t));
        });
    }
}
