using System.Globalization;
using AutoPlace.Geometry;

namespace AutoPlace.Export;

/// <summary>
/// Rounds lengths to a power of ten of the file's unit that is at most 1e-6 of the head's size, so that numbers stay
/// short and equal placements are equal text. The head's size is taken as its interocular distance.
/// </summary>
/// <param name="Decimals">Decimals kept, at least 0.</param>
public readonly record struct LengthRounding(int Decimals)
{
    /// <summary>Part of the head's size that is kept.</summary>
    private const double Resolution = 1e-6;

    /// <summary>Rounding for a head.</summary>
    /// <param name="interocularDistance">Distance between the eye centres in the file's unit, positive and finite.</param>
    public static LengthRounding For(double interocularDistance)
    {
        ArgumentOutOfRangeException.ThrowIfNegativeOrZero(interocularDistance);
        return new(Math.Max(0, (int)Math.Ceiling(-Math.Log10(interocularDistance * Resolution))));
    }

    /// <summary>A ratio, fraction or angle to 6 decimals.</summary>
    public static double Fraction(double value) => ToDecimals(value, 6);

    /// <summary>A factor of unknown magnitude to 6 significant digits.</summary>
    public static double Significant(double value) => Parse(value.ToString("G6", CultureInfo.InvariantCulture));

    /// <summary>Rounds to a number of decimals by way of the decimal text; there is no negative zero.</summary>
    public static double ToDecimals(double value, int decimals) =>
        Parse(value.ToString($"F{decimals}", CultureInfo.InvariantCulture));

    /// <summary>A length in the file's unit.</summary>
    public double Round(double length) => ToDecimals(length, Decimals);

    /// <summary>A position in the file's unit.</summary>
    public Vector3d Round(Vector3d position) => new(Round(position.X), Round(position.Y), Round(position.Z));

    // Adding zero turns -0 into 0.
    private static double Parse(string text) => double.Parse(text, CultureInfo.InvariantCulture) + 0.0;
}
