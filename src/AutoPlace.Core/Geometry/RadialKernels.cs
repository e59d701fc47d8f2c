namespace AutoPlace.Geometry;

/// <summary>
/// A radial function that is positive definite on weights that annihilate the spline's polynomials (Wendland 2005,
/// Scattered Data Approximation, chapter 8; from memory), so that the projected matrix has a Cholesky factor.
/// </summary>
internal interface IRadialKernel
{
    /// <summary>Value at a squared distance; 0 at 0.</summary>
    public static abstract double At(double squaredDistance);
}

/// <summary>-r: the biharmonic spline in three dimensions, with constants or with affine functions.</summary>
internal readonly struct LinearKernel : IRadialKernel
{
    /// <inheritdoc/>
    public static double At(double squaredDistance) => -Math.Sqrt(squaredDistance);
}

/// <summary>r^2 ln r^2: the thin-plate spline in two dimensions, with affine functions (Bookstein 1989).</summary>
internal readonly struct ThinPlateKernel : IRadialKernel
{
    /// <inheritdoc/>
    public static double At(double squaredDistance) => squaredDistance > 0 ? squaredDistance * Math.Log(squaredDistance) : 0;
}
