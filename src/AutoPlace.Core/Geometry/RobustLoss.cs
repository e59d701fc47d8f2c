namespace AutoPlace.Geometry;

/// <summary>How a fit treats residuals that are large beside the others.</summary>
public enum RobustLoss
{
    /// <summary>Least squares: all points count in full. The most accurate choice when there are no outliers.</summary>
    None,

    /// <summary>Beyond 1.345 standard deviations a residual counts linearly (Huber 1964): 95 % efficient, mild outliers.</summary>
    Huber,

    /// <summary>
    /// Beyond 4.685 standard deviations a point doesn't count at all (Beaton and Tukey 1974): 95 % efficient, gross
    /// outliers in less than about a third of the points.
    /// </summary>
    Tukey,
}
