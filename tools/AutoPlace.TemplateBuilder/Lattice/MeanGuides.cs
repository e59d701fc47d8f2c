using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Sources;

namespace AutoPlace.TemplateBuilder.Lattice;

/// <summary>
/// Where features lie on the mean head: midline and left side, atlas coordinates. Vertex numbers are those of the
/// model's own list of face-contour points.
/// </summary>
internal sealed class MeanGuides
{
    private readonly MorphableMean _mean;

    public MeanGuides(MorphableMean mean)
    {
        _mean = mean;
        LidUpper = mean.EdgeLine(3742, 3751, 3756, 3721);
        LidLower = mean.EdgeLine(3742, 3732, 3725, 3721);
        LipUpperBorder = mean.EdgeLine(0, 4275, 6200, 6213);
        LipLowerBorder = mean.EdgeLine(5518, 6461, 6346, 6213);
        LipUpperContact = mean.EdgeLine(5533, 6216, 6207);
        LipLowerContact = mean.EdgeLine(5517, 6470, 6207);
    }

    /// <summary>Free margin of the left upper lid, from inner to outer canthus.</summary>
    public Vector3d[] LidUpper { get; }

    /// <summary>Free margin of the left lower lid, from inner to outer canthus.</summary>
    public Vector3d[] LidLower { get; }

    /// <summary>Border of the upper lip's vermilion, from the midline to the left corner.</summary>
    public Vector3d[] LipUpperBorder { get; }

    /// <summary>Border of the lower lip's vermilion, from the midline to the left corner.</summary>
    public Vector3d[] LipLowerBorder { get; }

    /// <summary>Where the upper lip meets the lower one, from the midline to inside the left corner.</summary>
    public Vector3d[] LipUpperContact { get; }

    /// <summary>Where the lower lip meets the upper one.</summary>
    public Vector3d[] LipLowerContact { get; }

    public Vector3d Exocanthion => _mean[3721];

    public Vector3d Endocanthion => _mean[3742];

    /// <summary>Outer end of the vermilion.</summary>
    public Vector3d Cheilion => _mean[6213];

    /// <summary>
    /// Where the mean has the landmarks that the network was taught by their definition, not by a vertex: the training
    /// data's description has the definitions.
    /// </summary>
    public static (Vector3d Alare, Vector3d Tragion, Vector3d Nasion, Vector3d Pronasale, Vector3d Pogonion, Vector3d Menton) Learned { get; } = (
        FromCm(1.845, -0.266, 10.982),
        FromCm(7.48664, 0.80898, 1.12973),
        FromCm(0, 4.06, 10.66),
        FromCm(0, 0.09, 13.08),
        FromCm(0, -6.242, 11.043),
        FromCm(0, -7.91, 9.77));

    public Vector3d Nasion { get; } = FromCm(0, 3.74104, 10.7344);

    public Vector3d NoseBridge => _mean[4527];

    public Vector3d Nostril => _mean[4269];

    public Vector3d Pronasale => _mean[4857];

    public Vector3d Subnasale => _mean[1147];

    public Vector3d Alare { get; } = FromCm(1.85483, -0.295018, 11.0392);

    public Vector3d Tragion { get; } = FromCm(7.36664, 0.30898, 1.19973);

    public Vector3d Pogonion { get; } = FromCm(0, -6.08763, 11.0493);

    public Vector3d Menton => _mean[966];

    /// <summary>Radius of a living eyeball: 24.2 mm across (Bekerman et al. 2014) over the mean interpupillary breadth of 62.9 mm (ANSUR II).</summary>
    public const double BallRadius = 24.2 / 2 / 62.9;

    /// <summary>
    /// Centre of the left eyeball: that of a ball of a living eye's size on which the mean's lids rest. The mean's own
    /// balls are 30 mm across; their centres, midway between which the atlas has its origin, lie 4 mm farther back.
    /// </summary>
    public Vector3d EyeCentre { get; } = new(0.5, 0, 0.066);

    /// <summary>The five points along the left brow, from the midline outward.</summary>
    public Vector3d Brow(int number) => _mean[number switch { 1 => 3615, 2 => 4240, 3 => 4114, 4 => 2734, 5 => 2509, _ => throw new ArgumentOutOfRangeException(nameof(number)) }];

    /// <summary>Two points along the left jaw line, from the chin outward.</summary>
    public Vector3d JawLine(int number) => _mean[number switch { 1 => 4390, 2 => 3022, _ => throw new ArgumentOutOfRangeException(nameof(number)) }];

    public Vector3d Gonion => _mean[4036];

    /// <summary>Middle points of the lids' halves: upper medial, upper lateral, lower medial, lower lateral.</summary>
    public (Vector3d UpperMedial, Vector3d UpperLateral, Vector3d LowerMedial, Vector3d LowerLateral) LidPoints =>
        (_mean[3751], _mean[3756], _mean[3732], _mean[3725]);

    /// <summary>Points of the lips between midline and corner.</summary>
    public (Vector3d CristaPhiltri, Vector3d UpperLateral, Vector3d LowerLateral, Vector3d LowerMedial, Vector3d UpperContact, Vector3d LowerContact) LipPoints =>
        (_mean[4275], _mean[6200], _mean[6346], _mean[6461], _mean[6216], _mean[6470]);

    /// <summary>Most anterior midline point between the brows and above the nasal root.</summary>
    public Vector3d Glabella
    {
        get
        {
            double nasion = Nasion.Y, brow = Brow(1).Y;
            return Midline(nasion + (0.5 * (brow - nasion)), brow + (0.35 * (brow - nasion)), p => p.Z);
        }
    }

    /// <summary>Deepest midline point between lower lip and chin, measured from the chord that joins them.</summary>
    public Vector3d Sublabiale
    {
        get
        {
            Vector3d lip = LipLowerBorder[0], chin = Pogonion;
            double slope = (lip.Z - chin.Z) / (lip.Y - chin.Y);
            return Midline(chin.Y, lip.Y, p => chin.Z + (slope * (p.Y - chin.Y)) - p.Z);
        }
    }

    /// <summary>Number of teeth a side in an arch, wisdom teeth left out.</summary>
    public const int Teeth = 7;

    /// <summary>Box round a left tooth of the mean, numbered outward from the midline.</summary>
    public (Vector3d Low, Vector3d High) Tooth(bool upper, int number)
    {
        int[] starts = upper
            ? [18067, 17991, 17895, 17730, 17607, 17416, 17230]
            : [20263, 20169, 20079, 19952, 19814, 19602, 19426];
        int[] ends = upper
            ? [18142, 18066, 17990, 17894, 17729, 17606, 17415]
            : [20348, 20262, 20168, 20078, 19951, 19813, 19601];
        return _mean.Box(starts[number - 1], ends[number - 1]);
    }

    /// <summary>Middle of the biting edges of the two upper (or lower) central incisors.</summary>
    public Vector3d Incisor(bool upper)
    {
        (Vector3d low, Vector3d high) = Tooth(upper, 1);
        return upper ? new(0, low.Y, high.Z) : new(0, high.Y, high.Z);
    }

    /// <summary>Middle of the chewing surface of the left first molar.</summary>
    public Vector3d Molar(bool upper)
    {
        (Vector3d low, Vector3d high) = Tooth(upper, 6);
        Vector3d middle = (low + high) * 0.5;
        return middle with { Y = upper ? low.Y : high.Y };
    }

    // The face's vertices come first in the model.
    private Vector3d Midline(double low, double high, Func<Vector3d, double> score)
    {
        const int FaceVertices = 9_409;
        const double HalfWidth = 0.01;
        return _mean.Positions.Take(FaceVertices)
            .Where(p => Math.Abs(p.X) <= HalfWidth && p.Y >= low && p.Y <= high && p.Z > 0)
            .MaxBy(score);
    }

    private static Vector3d FromCm(double x, double y, double z) => (new Vector3d(x, y, z) - new Vector3d(0, 3.601585, 7.982299)) / 6.232908;
}
