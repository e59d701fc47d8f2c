using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Lattice;
using AutoPlace.TemplateBuilder.Sources;

namespace AutoPlace.TemplateBuilder.Heads.Modelled;

/// <summary>
/// The reference head as a modeller lays it out: all quads, closed loops round eye, mouth, nostril and ear, lids with
/// a thick edge, lips that close, a mouth bag. The plan is ours; the shape follows the mean head.
/// </summary>
internal sealed partial class ModelledHead
{
    private const string Skin = "skin";
    private const string Hidden = "skin-hidden";
    private const string MouthBag = "mouth_bag";

    private readonly HeadTarget _target;
    private readonly MeanGuides _guides;
    private readonly QuadLayout _layout = new();

    private ModelledHead(SkinSurface skin, MeanGuides guides)
    {
        _target = new HeadTarget(skin);
        _guides = guides;
    }

    /// <summary>Builds the left half, fitted to the skin.</summary>
    public static HalfHead Build(SkinSurface skin, MeanGuides guides)
    {
        var plan = new ModelledHead(skin, guides);
        plan.Eye();
        plan.Mouth();
        plan.Nose();
        plan.Ear();
        plan.FaceAndSkull();
        HalfHead head = plan._layout.Build();
        CloseHoles(head);
        head.CheckOrientation();
        plan.SettleCorner(head, guides.Cheilion, 0.15);
        plan.SettleCorner(head, guides.Exocanthion, 0.13);
        plan.SettleCorner(head, guides.Endocanthion, 0.12);
        const int Rounds = 60;
        SurfaceFit.Run(head, part => part == Skin, plan._target.Near, Rounds);
        for (int f = 0; f < head.Parts.Count; f++)
        {
            head.Parts[f] = head.Parts[f] == Hidden ? Skin : head.Parts[f];
        }

        return head;
    }

    /// <summary>The edge lines that rows lie on.</summary>
    public static HeadLoops Loops(HalfHead head)
    {
        return new HeadLoops
        {
            LidUpperMargin = Upper("margin_"),
            LidLowerMargin = Lower("margin_"),
            LidUpperCrease = Upper("crease_"),
            LidLowerCrease = Lower("crease_"),
            LidUpperFold = Upper("fold_"),
            Brow = Line("mask_0", "mask_1", "mask_2", "mask_3", "mask_4"),
            Forehead = Line("F1", "Fm", "V1", "W1"),
            LipUpperBorder = Line("border_U0", "border_U1", "border_U2", "border_Mc"),
            LipLowerBorder = Line("border_L0", "border_L1", "border_L2", "border_Mc"),
            LipUpperContact = Line("contact_U0", "contact_U1", "contact_U2", "contact_Mc"),
            LipLowerContact = Line("contact_L0", "contact_L1", "contact_L2", "contact_Mc"),
            Nasolabial = Line("A3", "K3"),
            Mentolabial = Line("mouth_L0", "mouth_L1", "mouth_L2"),
            Cheek = [Line("mask_8", "mask_7", "mask_6", "mask_5", "mask_4"), Line("A1", "K1", "Q1", "H1"), Line("A2", "K2", "Q2", "H2")],
        };

        Vector3d[] Upper(string ring) => Line(ring + "M", ring + "UM", ring + "U", ring + "UL", ring + "L");
        Vector3d[] Lower(string ring) => Line(ring + "M", ring + "BM", ring + "B", ring + "LL", ring + "L");
        Vector3d[] Line(params ReadOnlySpan<string> corners) => [.. head.Line(corners).Select(v => head.Positions[v])];
    }

    // Ring systems: corner names are ring + key, keys counter-clockwise as seen from outside.
    private void Ring(string ring, string[] keys, int[] quads, bool closed, Func<int, double, Vector3d> at, bool pinned)
    {
        int sides = closed ? keys.Length : keys.Length - 1;
        for (int i = 0; i < keys.Length; i++)
        {
            _layout.Corner(ring + keys[i], i < sides ? at(i, 0) : at(i - 1, 1), pinned);
        }

        for (int i = 0; i < sides; i++)
        {
            int side = i;
            (string a, string b) = (ring + keys[i], ring + keys[(i + 1) % keys.Length]);
            _layout.Curve(a, b, t => at(side, t), pinned);
            _layout.Count(a, b, quads[i]);
        }
    }

    // The skin is folded in the corners of mouth and eye, and smoothing would draw quads over each other there: they
    // stay as planned, laid on the skin from the front, within reach of the corner.
    private void SettleCorner(HalfHead head, Vector3d corner, double reach)
    {
        foreach (int v in Enumerable.Range(0, head.Faces.Count).Where(f => head.Parts[f] == Skin).SelectMany(f => head.Faces[f]))
        {
            Vector3d p = head.Positions[v];
            if (!head.Pinned[v] && Vector3d.Distance(p, corner) < reach)
            {
                head.Positions[v] = _target.Face(p.X, p.Y);
                head.Pinned[v] = true;
            }
        }
    }

    private static void CloseHole(HalfHead head, string part, int[] loop, int columns, int rows)
    {
        int[,] grid = new int[columns + 1, rows + 1];
        for (int i = 0; i <= columns; i++)
        {
            grid[i, 0] = loop[i];
            grid[i, rows] = loop[(2 * columns) + rows - i];
        }

        for (int j = 1; j < rows; j++)
        {
            grid[columns, j] = loop[columns + j];
            grid[0, j] = loop[loop.Length - j];
        }

        for (int i = 1; i < columns; i++)
        {
            for (int j = 1; j < rows; j++)
            {
                Vector3d across = Vector3d.Lerp(head.Positions[grid[0, j]], head.Positions[grid[columns, j]], (double)i / columns);
                Vector3d along = Vector3d.Lerp(head.Positions[grid[i, 0]], head.Positions[grid[i, rows]], (double)j / rows);
                grid[i, j] = head.AddVertex((across + along) * 0.5, pinned: false);
            }
        }

        for (int i = 0; i < columns; i++)
        {
            for (int j = 0; j < rows; j++)
            {
                head.AddFace(part, grid[i, j], grid[i + 1, j], grid[i + 1, j + 1], grid[i, j + 1]);
            }
        }
    }

    private static void CloseHoles(HalfHead head)
    {
        // Fourteen vertices round the nostril, eighteen round the ear's bowl, each once.
        int[] nostril = head.Line("nostril2_2", "nostril2_1", "nostril2_4", "nostril2_3", "nostril2_2");
        CloseHole(head, Hidden, nostril[..^1], 4, 3);
        int[] bowl = head.Line("ear7_ft", "ear7_fb", "ear7_bb", "ear7_bt", "ear7_ft");
        CloseHole(head, Hidden, bowl[..^1], 4, 5);

        // The bag's end: a strip along the whole width, two quads high.
        int[] bag = head.Line("bag3_L0", "bag3_L1", "bag3_L2", "bag3_Mc", "bag3_U2", "bag3_U1", "bag3_U0");
        int middle = head.AddVertex((head.Positions[bag[0]] + head.Positions[bag[^1]]) * 0.5, pinned: false);
        CloseHole(head, MouthBag, [.. bag, middle], (bag.Length / 2) - 1, 2);
    }
}
