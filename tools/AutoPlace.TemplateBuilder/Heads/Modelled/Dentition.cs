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
        (Vector3d Low, Vector3d High)[] boxes = [.. Enumerable.Range(1, MeanGuides.Teeth).Select(number => guides.Tooth(upper, number))];
        Vector3d[] centres = [.. boxes.Select(box => Crown(box, upper))];

        // Neighbours touch: each tooth fills the arch from halfway to the one before to halfway to the next.
        Vector3d[] borders =
        [
            centres[0] with { X = 0 }, .. centres.Zip(centres.Skip(1), (a, b) => (a + b) * 0.5),
            (centres[^1] * 1.5) - (centres[^2] * 0.5),
        ];
        for (int k = 0; k < centres.Length; k++)
        {
            Vector3d span = (borders[k + 1] - borders[k]) with { Y = 0 };
            Vector3d along = span.Normalized();
            Vector3d outward = Vector3d.Cross(along, Vector3d.UnitY);
            double width = span.Length * 0.98;
            double depth = Math.Min(0.13 + (0.015 * k), 0.19);
            Vector3d centre = ((borders[k] + borders[k + 1]) * 0.5) with { Y = centres[k].Y };

            // Front teeth end in an edge, back teeth in a broad face.
            double edge = k < 3 ? 0.45 : 0.85;
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

    // The middle of the crown: teeth of the mean reach far into the bone.
    private static Vector3d Crown((Vector3d Low, Vector3d High) box, bool upper)
    {
        Vector3d middle = (box.Low + box.High) * 0.5;
        return middle with { Y = upper ? box.Low.Y + (CrownHeight / 2) : box.High.Y - (CrownHeight / 2) };
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
        (double Out, double Up)[] profile = [(0.055, 0.22), (0.085, 0.12), (0.080, 0.045), (0.0, 0.065), (-0.080, 0.045), (-0.105, 0.12), (-0.09, 0.22)];
        Vector3d[] path = [centres[0] with { X = 0, Z = centres[0].Z + 0.004 }, .. centres, centres[^1] + ((centres[^1] - centres[^2]) * 0.6)];
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
            [(-0.66, -1.30, 0.20, 0.10), (-0.45, -1.21, 0.27, 0.13), (-0.20, -1.19, 0.28, 0.12), (0.05, -1.21, 0.24, 0.09), (0.26, -1.22, 0.17, 0.055)];
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
