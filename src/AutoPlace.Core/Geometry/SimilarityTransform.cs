namespace AutoPlace.Geometry;

/// <summary>
/// The map <c>y = Scale * Rotation * x + Translation</c>. <see cref="Rotation"/> is orthogonal; its determinant is
/// -1 when the map mirrors.
/// </summary>
/// <param name="Scale">Positive scale factor.</param>
/// <param name="Rotation">Orthogonal matrix that acts on column vectors.</param>
/// <param name="Translation">Added last, in the unit of the target frame.</param>
public sealed record SimilarityTransform(double Scale, Matrix3d Rotation, Vector3d Translation)
{
    /// <summary>The map that leaves every point where it is.</summary>
    public static SimilarityTransform Identity { get; } = new(1, Matrix3d.Identity, Vector3d.Zero);

    /// <summary>Maps a point.</summary>
    public Vector3d Apply(Vector3d point) => ((Rotation * point) * Scale) + Translation;

    /// <summary>Maps a direction: rotated, neither scaled nor moved.</summary>
    public Vector3d ApplyToDirection(Vector3d direction) => Rotation * direction;

    /// <summary>The map that undoes this one.</summary>
    public SimilarityTransform Inverse()
    {
        Matrix3d back = Rotation.Transposed();
        double scale = 1 / Scale;
        return new(scale, back, (back * Translation) * -scale);
    }

    /// <summary>This map first, then <paramref name="next"/>.</summary>
    public SimilarityTransform Then(SimilarityTransform next) =>
        new(Scale * next.Scale, next.Rotation * Rotation, next.Apply(Translation));
}
