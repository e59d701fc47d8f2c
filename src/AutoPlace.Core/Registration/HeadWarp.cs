using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>The smooth map from the atlas to a head: a kernel-r spline through dense correspondences and landmarks.</summary>
public sealed class HeadWarp
{
    /// <summary>
    /// Weight of the bending energy against squared residuals over their variances. As much as leaves what is surely seen
    /// where it is, while points in doubt follow those round about: on 130 generated heads the errors of joints fall up to
    /// here, and rise from three times as much on.
    /// </summary>
    private const double Smoothing = 300;

    /// <summary>Determinant of the derivative below which the map is taken to fold.</summary>
    private const double LeastDeterminant = 1e-3;

    /// <summary>Radius of the sphere of a local similarity, interocular distances: a lip's height.</summary>
    private const double Radius = 0.12;

    /// <summary>
    /// How far skin slides along under the chin's lowest and foremost points, which are found by shape, as jaw and lips move:
    /// standard deviation, interocular distances. On identities of the morphable head the joint of the chin's lowest point was off
    /// by 3.2 % without it, by 2.4 with it, and by 2.3 where nothing but the skin round about counted.
    /// </summary>
    private const double Sliding = 0.05;

    private static readonly string[] FoundByShape = ["pogonion", "menton"];

    // Corners of a cube and middles of its sides.
    private static readonly Vector3d[] Directions =
        [.. from x in Enumerable.Range(-1, 3) from y in Enumerable.Range(-1, 3) from z in Enumerable.Range(-1, 3)
            let d = new Vector3d(x, y, z) where Math.Abs(x) + Math.Abs(y) + Math.Abs(z) is 1 or 3 select d.Normalized()];

    private readonly PolyharmonicSplineSolver _solver;
    private readonly Vector3d[] _sources, _apart, _targets;
    private readonly double _open;
    private readonly PolyharmonicSpline _spline;

    private HeadWarp(PolyharmonicSplineSolver solver, Vector3d[] sources, Vector3d[] apart, Vector3d[] targets, double open)
    {
        (_solver, _sources, _apart, _targets, _open) = (solver, sources, apart, targets, open);
        _spline = solver.Fit(targets);
    }

    /// <summary>Fits the map.</summary>
    /// <param name="template">The template, whose landmarks are known in the atlas.</param>
    /// <param name="controls">Control points found by dense correspondence.</param>
    /// <param name="landmarks">Landmarks found on the head; those inside it are left out.</param>
    /// <param name="lipOf">The lip that a landmark is of, by its name.</param>
    /// <param name="open">How far the lips are drawn apart before the map is fitted, in [0, 1]: closed ones can't be opened smoothly.</param>
    /// <exception cref="ArgumentException">Fewer than four points in general position.</exception>
    public static HeadWarp Fit(
        TemplateHead template,
        IReadOnlyList<ControlPoint> controls,
        IReadOnlyList<Landmark> landmarks,
        Func<string, double>? lipOf = null,
        double open = 0)
    {
        ArgumentNullException.ThrowIfNull(template);
        ArgumentNullException.ThrowIfNull(controls);
        ArgumentNullException.ThrowIfNull(landmarks);
        var sources = new List<Vector3d>();
        var lips = new List<double>();
        var targets = new List<Vector3d>();
        var variances = new List<double>();
        foreach (ControlPoint c in controls)
        {
            sources.Add(c.Atlas);
            lips.Add(c.Lip);
            targets.Add(c.Head);
            variances.Add(c.Variance);
        }

        foreach (Landmark l in landmarks)
        {
            if (l.Source != LandmarkSource.Inferred
                && !l.Name.StartsWith("eye_centre", StringComparison.Ordinal)
                && template.Landmarks.TryGetValue(l.Name, out Vector3d atlas))
            {
                sources.Add(atlas);
                lips.Add(lipOf?.Invoke(l.Name) ?? 0);
                targets.Add(l.Position);
                variances.Add((l.Covariance.Trace / 3) + (l.Source != LandmarkSource.Lock && FoundByShape.Contains(l.Name) ? Sliding * Sliding : 0));
            }
        }

        Vector3d[] apart = [.. sources.Zip(lips, (p, lip) => LipSides.Apart(p, lip, open))];
        return new HeadWarp(new PolyharmonicSplineSolver(apart, [.. variances], Smoothing), [.. sources], apart, [.. targets], open);
    }

    /// <summary>The map fitted anew after what it was fitted to has moved; the equations stay factored.</summary>
    /// <param name="move">For an atlas point by how much its place on the head moves; called from several threads.</param>
    public HeadWarp Moved(Func<Vector3d, Vector3d> move)
    {
        ArgumentNullException.ThrowIfNull(move);
        var moves = new Vector3d[_targets.Length];
        Parallel.For(0, moves.Length, i => moves[i] = move(_sources[i]));

        // Smoothing is for what was seen: it would take back part of the moves, so that much is added first (Tukey's "twicing"; from memory).
        PolyharmonicSpline smoothed = _solver.Fit(moves);
        var targets = new Vector3d[moves.Length];
        Parallel.For(0, targets.Length, i => targets[i] = _targets[i] + (moves[i] * 2) - smoothed.Apply(_apart[i]));
        return new HeadWarp(_solver, _sources, _apart, targets, _open);
    }

    /// <summary>True where the lips of the atlas are drawn apart before they are mapped.</summary>
    internal bool IsOpen => _open > 0;

    /// <summary>Maps an atlas point to the head frame; one of both lips or of none.</summary>
    public Vector3d Apply(Vector3d atlas) => _spline.Apply(atlas);

    /// <summary>Maps a point of one lip of the atlas to the head frame.</summary>
    /// <param name="atlas">Atlas point.</param>
    /// <param name="lip">The lip that it is of, see <see cref="LipSides"/>.</param>
    public Vector3d ApplyOnLip(Vector3d atlas, double lip) => _spline.Apply(Apart(atlas, lip));

    /// <summary>A point of one lip of the atlas where <see cref="Apply"/> expects it.</summary>
    internal Vector3d Apart(Vector3d atlas, double lip) => LipSides.Apart(atlas, lip, _open);

    /// <summary>Outward normal on the head where the atlas has the given one.</summary>
    /// <param name="atlas">Atlas point.</param>
    /// <param name="atlasNormal">Unit normal there.</param>
    /// <param name="lip">The lip that it is of.</param>
    /// <param name="inFold">True in a slit, whose walls the map may push through each other: the turn round about counts then.</param>
    public Vector3d Normal(Vector3d atlas, Vector3d atlasNormal, double lip = 0, bool inFold = false)
    {
        Matrix3d j = LocalChange(Apart(atlas, lip));
        return !inFold && j.Determinant > LeastDeterminant
            ? (j.Inverse().Transposed() * atlasNormal).Normalized()
            : LocalSimilarity(atlas, lip).Rotation * atlasNormal;
    }

    // The kernel r has no derivative at the points it was fitted to, where joints like to lie: differences across a sphere.
    // The squares of its directions sum up to a third of their number along each axis.
    private Matrix3d LocalChange(Vector3d apart)
    {
        var sum = default(Matrix3d);
        foreach (Vector3d direction in Directions)
        {
            sum += Matrix3d.Outer(_spline.Apply(apart + (direction * Radius)), direction);
        }

        return sum * (3 / (Radius * Directions.Length));
    }

    /// <summary>
    /// Rotation and mean scale of the map round about a point: the best similarity for the images of points on a sphere
    /// about it. Between the lips, where the map itself may fold over, it still turns as the mouth does.
    /// </summary>
    public (Matrix3d Rotation, double Scale) LocalSimilarity(Vector3d atlas, double lip = 0)
    {
        Vector3d apart = Apart(atlas, lip);
        Vector3d[] around = [.. Directions.Select(direction => apart + (direction * Radius))];
        SimilarityTransform fit = ProcrustesAlignment.Align(around, [.. around.Select(_spline.Apply)]);
        return (fit.Rotation, fit.Scale);
    }
}
