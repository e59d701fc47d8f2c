namespace AutoPlace.Registration.Correcting;

/// <summary>What looking at a joint, and putting it right, is expected to gain.</summary>
/// <param name="Joint">Name of the joint.</param>
/// <param name="Gain">By how much the expected errors of all joints together become smaller, interocular distances.</param>
public sealed record LookGain(string Joint, double Gain)
{
    /// <summary>Largest share of a joint's variance that another may explain: what is looked at keeps an error of its own.</summary>
    private const double MostExplained = 0.999;

    /// <summary>Keeps a variance of 0 from being negative by rounding, as a share of the first.</summary>
    private const double LeastVariance = 1e-12;

    /// <summary>
    /// Joints in the order in which a person best looks at them: each time the one whose true place would take most off its
    /// own expected error and off those of the joints that are usually wrong with it (posterior variance of the Gaussian
    /// process of <see cref="DisplacementSpread"/>), given those that a person set already and those before it. Joints that a
    /// person set, whose feature is absent, or that coincide with one before them are left out.
    /// </summary>
    /// <param name="placement">A placement with the radii that its joints have now; a joint that a person set has none.</param>
    public static IReadOnlyList<LookGain> Of(LatticePlacement placement)
    {
        ArgumentNullException.ThrowIfNull(placement);
        IReadOnlyList<JointPlacement> joints = placement.Joints;
        var spread = DisplacementSpread.Of(placement);
        Queue<LookGain>[] regions = [.. spread.Regions().Select(region => new Queue<LookGain>(OfRegion(joints, spread, region))).Where(q => q.Count > 0)];
        var order = new List<LookGain>();
        while (regions.Where(q => q.Count > 0).MaxBy(q => q.Peek().Gain) is { } next)
        {
            order.Add(next.Dequeue());
        }

        return order;
    }

    private static IEnumerable<LookGain> OfRegion(IReadOnlyList<JointPlacement> joints, DisplacementSpread spread, int[] region)
    {
        int[] open = [.. region.Where(i => !joints[i].IsSet && joints[i].State != JointState.Absent)];
        double[,] covariance = spread.Posterior(open, [.. region.Where(i => joints[i].IsSet)]);
        double[] now = [.. Enumerable.Range(0, open.Length).Select(i => covariance[i, i])];
        List<int> left = [.. Enumerable.Range(0, open.Length)];
        while (left.Count > 0)
        {
            int looked = left.MaxBy(Gain);
            yield return new LookGain(joints[open[looked]].Joint.Name, Gain(looked));
            double[] column = [.. Enumerable.Range(0, open.Length).Select(j => covariance[j, looked])];
            foreach (int i in left)
            {
                foreach (int j in left)
                {
                    covariance[i, j] -= column[i] * column[j] / column[looked];
                }

                covariance[i, i] = Math.Max(covariance[i, i], LeastVariance);
            }

            left.RemoveAll(i => joints[open[i]].Position == joints[open[looked]].Position);
        }

        double Gain(int looked)
        {
            double sum = 0;
            foreach (int j in left)
            {
                double before = covariance[j, j];
                double explained = Math.Min(covariance[looked, j] * covariance[looked, j] / (covariance[looked, looked] * before), MostExplained);
                sum += joints[open[j]].Radius90 * Math.Sqrt(before / now[j]) * (1 - Math.Sqrt(1 - explained));
            }

            return sum / LatticeRegistration.Radius90Sigmas;
        }
    }
}
