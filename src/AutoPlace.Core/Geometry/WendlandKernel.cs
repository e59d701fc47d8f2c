namespace AutoPlace.Geometry;

/// <summary>
/// Wendland's function of degree 4, <c>(1 - r)^4 (4 r + 1)</c> up to r = 1 and 0 from there: positive definite in three
/// dimensions, twice differentiable (Wendland 1995, Piecewise polynomial, positive definite and compactly supported
/// radial functions of minimal degree; from memory).
/// </summary>
internal static class WendlandKernel
{
    /// <summary>Value at a distance over the reach.</summary>
    public static double At(double r)
    {
        double near = Math.Max(0, 1 - r), squared = near * near;
        return squared * squared * ((4 * r) + 1);
    }
}
