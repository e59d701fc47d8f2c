using AutoPlace.Geometry;

namespace AutoPlace.Landmarks;

/// <summary>Makes what was read off a symmetric head symmetric about x = 0 of its head frame.</summary>
public static class FacialSymmetry
{
    /// <summary>Each landmark becomes the mean of itself and its mirrored partner; midline ones get x = 0.</summary>
    public static IReadOnlyList<Landmark> Symmetrized(IReadOnlyList<Landmark> landmarks)
    {
        ArgumentNullException.ThrowIfNull(landmarks);
        var byName = landmarks.ToDictionary(l => l.Name);
        return [.. landmarks.Select(l =>
        {
            Landmark partner = byName.GetValueOrDefault(LandmarkNames.Mirror(l.Name), l);
            return l with
            {
                Position = (l.Position + Mirror(partner.Position)) * 0.5,
                Covariance = (l.Covariance + Mirror(partner.Covariance)) * 0.5,
                Presence = (l.Presence + partner.Presence) * 0.5,
            };
        })];
    }

    /// <summary>The correspondences and their mirror images.</summary>
    public static IReadOnlyList<Correspondence> Symmetrized(IReadOnlyList<Correspondence> correspondences)
    {
        ArgumentNullException.ThrowIfNull(correspondences);
        return [.. correspondences, .. correspondences.Select(c => c with
        {
            Head = Mirror(c.Head),
            Normal = Mirror(c.Normal),
            Atlas = Mirror(c.Atlas),
        })];
    }

    /// <summary>Two eyeballs that are each other's mirror image: the mean of the left one and the mirrored right one, and its mirror image.</summary>
    public static (Eyeball Left, Eyeball Right) Symmetrized(Eyeball left, Eyeball right)
    {
        ArgumentNullException.ThrowIfNull(left);
        ArgumentNullException.ThrowIfNull(right);
        if (left.IsModelled != right.IsModelled)
        {
            // The one that was fitted stands for both.
            Eyeball fitted = left.IsModelled ? left : right with { Centre = Mirror(right.Centre) };
            return (fitted, fitted with { Centre = Mirror(fitted.Centre) });
        }

        Eyeball mean = left with
        {
            Centre = (left.Centre + Mirror(right.Centre)) * 0.5,
            Radius = (left.Radius + right.Radius) * 0.5,
        };
        return (mean, mean with { Centre = Mirror(mean.Centre) });
    }

    private static Vector3d Mirror(Vector3d p) => new(-p.X, p.Y, p.Z);

    private static Matrix3d Mirror(Matrix3d m)
    {
        var s = Matrix3d.Diagonal(-1, 1, 1);
        return s * m * s;
    }
}
