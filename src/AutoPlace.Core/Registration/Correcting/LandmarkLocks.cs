using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;

namespace AutoPlace.Registration.Correcting;

/// <summary>Landmarks that a person put in place, as evidence: certain, and what was seen around them goes along.</summary>
internal static class LandmarkLocks
{
    /// <summary>Standard deviation of a landmark that a person set, interocular distances (own choice: 0.3 mm on an adult, what a careful hand on a screen does).</summary>
    private const double Sigma = 0.005;

    /// <summary>How far in the atlas the map goes along, interocular distances (own choice: a mouth's width).</summary>
    private const double Reach = 0.8;

    /// <summary>Added to the kernel's diagonal, so that landmarks which nearly coincide don't contradict each other without end.</summary>
    private const double Own = 1e-3;

    /// <summary>
    /// Landmarks with those that a person set in their places, on a symmetric head also with the mirror images of these, which keep
    /// their source: a person fixed one side only.
    /// </summary>
    /// <param name="landmarks">Landmarks, head frame.</param>
    /// <param name="locked">Those that a person set.</param>
    /// <param name="symmetric">True to set mirror images, too.</param>
    public static IReadOnlyList<Landmark> Apply(IReadOnlyList<Landmark> landmarks, IReadOnlyCollection<LandmarkCorrection> locked, bool symmetric)
    {
        var names = locked.Select(l => l.Landmark).ToHashSet(StringComparer.Ordinal);
        var byName = (symmetric ? BothSides(locked) : locked).ToDictionary(l => l.Landmark, StringComparer.Ordinal);
        return [.. landmarks.Select(At)];

        Landmark At(Landmark landmark)
        {
            if (!byName.TryGetValue(landmark.Name, out LandmarkCorrection? set))
            {
                return landmark;
            }

            Landmark there = landmark with { Position = set.Position, Covariance = Matrix3d.Identity * (Sigma * Sigma) };
            return names.Contains(landmark.Name) ? there with { Presence = 1, Source = LandmarkSource.Lock } : there;
        }
    }

    /// <summary>
    /// The link to a head by landmarks that a person set: the map from the atlas goes through them and takes along what
    /// is around them, and parts inside the head are fitted to them.
    /// </summary>
    /// <param name="prepared">The template that was shaped after the atlas, whose landmarks are known there.</param>
    /// <param name="found">The link as the program found it.</param>
    /// <param name="locked">The landmarks that were set; at least one.</param>
    public static HeadRegistration Apply(PreparedTemplate prepared, HeadRegistration found, IReadOnlyList<LandmarkCorrection> locked)
    {
        TemplateHead atlas = prepared.Head;
        LandmarkCorrection[] all = found.IsSymmetric ? BothSides(locked) : [.. locked];
        HeadEvidence evidence = found.Evidence;
        (Vector3d Atlas, Vector3d Missing)[] onSkin = [.. all
            .Where(l => LandmarkCombination.IsOnSkin(l.Landmark) && atlas.Landmarks.ContainsKey(l.Landmark))
            .Select(l => (atlas.Landmarks[l.Landmark], l.Position - found.Warp.ApplyOnLip(atlas.Landmarks[l.Landmark], prepared.LipOfLandmark(l.Landmark))))];
        return found with
        {
            Warp = onSkin.Length == 0 ? found.Warp : found.Warp.Moved(Field(onSkin)),
            Evidence = evidence with
            {
                Landmarks = Apply(evidence.Landmarks, all, symmetric: false),
                EyeballLeft = AtLock(evidence.EyeballLeft, "eye_centre_left"),
                EyeballRight = AtLock(evidence.EyeballRight, "eye_centre_right"),
            },
        };

        Eyeball AtLock(Eyeball ball, string name) => Array.Find(all, l => l.Landmark == name) is { } at
            ? ball with { Centre = at.Position, CentreVariance = Sigma * Sigma }
            : ball;
    }

    // On a symmetric head the other side has the mirror image, unless it was set too.
    private static LandmarkCorrection[] BothSides(IReadOnlyCollection<LandmarkCorrection> locked)
    {
        var names = locked.Select(l => l.Landmark).ToHashSet(StringComparer.Ordinal);
        return [.. locked, .. locked.Where(l => !names.Contains(LandmarkNames.Mirror(l.Landmark)))
            .Select(l => l with { Landmark = LandmarkNames.Mirror(l.Landmark), Position = MirroredPoints.Mirror(l.Position) })];
    }

    // Interpolates what is missing at the locked landmarks by Wendland's kernel.
    private static Func<Vector3d, Vector3d> Field((Vector3d Atlas, Vector3d Missing)[] known)
    {
        int n = known.Length;
        var matrix = new SymmetricMatrix(n);
        double[] weights = new double[3 * n];
        for (int i = 0; i < n; i++)
        {
            Span<double> row = matrix.Row(i);
            for (int j = 0; j <= i; j++)
            {
                row[j] = WendlandKernel.At(Vector3d.Distance(known[i].Atlas, known[j].Atlas) / Reach) + (i == j ? Own : 0);
            }

            (weights[i], weights[n + i], weights[(2 * n) + i]) = (known[i].Missing.X, known[i].Missing.Y, known[i].Missing.Z);
        }

        BlockedCholesky.TryFactor(matrix)!.Solve(weights);
        return atlas =>
        {
            Vector3d sum = Vector3d.Zero;
            for (int i = 0; i < n; i++)
            {
                double near = WendlandKernel.At(Vector3d.Distance(known[i].Atlas, atlas) / Reach);
                sum += new Vector3d(weights[i], weights[n + i], weights[(2 * n) + i]) * near;
            }

            return sum;
        };
    }
}
