using System.Buffers;
using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using AutoPlace.Rendering;

namespace AutoPlace.Landmarks;

/// <summary>
/// Where heads may be in a scan: all of it is seen from fourteen sides, along the axes and between them, and the head
/// finder's network says of each view where a head is, how large, and how turned, whether its face shows or not. What
/// several views say alike is looked at closer, from where its front is said to be.
/// </summary>
internal static class HeadSurvey
{
    /// <summary>A view's side over the scan's largest extent; in training it is 1.02 to 1.3.</summary>
    private const float Margin = 1.1f;

    /// <summary>Probability below which nothing is proposed, and proposals of a view at most.</summary>
    private const float LeastPresence = 0.02f;

    private const int MostOfView = 3;

    /// <summary>
    /// Proposals that are one: turned by less than about 45 degrees (their trace, 1 + 2 cos), apart by less than the larger
    /// interocular distance, which is at most so many times the smaller. Views differ by 17 degrees, 0.8 and a fourth at
    /// their 90 % points.
    /// </summary>
    private const double SameTrace = 2.41, SamePlace = 1, SameScale = 1.6;

    /// <summary>How many proposals are looked at closer, and half of such a view's side and its centre in the head frame, interocular distances.</summary>
    private const int LookedAtCloser = 12;

    private const float CloserHalfSize = 4;

    private static readonly Vector3d CloserCentre = new(0, -0.5, -0.5);

    /// <summary>The directions that the viewer is in, and what is up in each view.</summary>
    private static readonly (Vector3 Toward, Vector3 Up)[] Sides = [.. AlongAxes(), .. BetweenAxes()];

    /// <summary>Looks for heads, the likeliest first.</summary>
    /// <param name="scan">The scan.</param>
    /// <param name="network">The head finder's network.</param>
    /// <param name="cancellation">Stops between views.</param>
    /// <returns>Frames of heads: as the closer views have them, then as the others do; of what several say the surest one's.</returns>
    public static IReadOnlyList<HeadFrame> Propose(ScanSurface scan, SurveyNetwork network, CancellationToken cancellation)
    {
        Vector3[] used = Used(scan.Mesh);
        if (used.Length == 0)
        {
            return [];
        }

        OrthographicView[] around = [.. Sides.Select(side => OrthographicView.ShowingAll(used, side.Up, side.Toward, Margin, ModelContract.InputSize))];
        List<Proposal> coarse = Merged(Look(scan, network, around, cancellation));
        List<Proposal> closer = Look(scan, network, [.. coarse.Take(LookedAtCloser).Select(p => CloserView(p.Frame))], cancellation);
        return [.. Merged(closer).Concat(coarse).Select(p => p.Frame)];
    }

    // Each proposal joins the surest one that it is like; those that views agree on come first.
    private static List<Proposal> Merged(IEnumerable<Proposal> proposals)
    {
        var merged = new List<(HeadFrame Frame, double Sum)>();
        foreach (Proposal proposal in proposals.OrderByDescending(p => p.Presence))
        {
            int like = merged.FindIndex(m => m.Frame.IsLike(proposal.Frame, SameTrace, SamePlace, SameScale));
            if (like < 0)
            {
                merged.Add((proposal.Frame, proposal.Presence));
            }
            else
            {
                merged[like] = (merged[like].Frame, merged[like].Sum + proposal.Presence);
            }
        }

        return [.. merged.OrderByDescending(m => m.Sum).Select(m => new Proposal(m.Frame, m.Sum))];
    }

    // The proposals of several views, in their order.
    private static List<Proposal> Look(ScanSurface scan, SurveyNetwork network, OrthographicView[] views, CancellationToken cancellation)
    {
        var ofViews = new List<Proposal>[views.Length];
        LandmarkDetector.ForEach(views.Length, i => ofViews[i] = Look(scan, network, views[i]), cancellation);
        return [.. ofViews.SelectMany(proposals => proposals)];
    }

    private static List<Proposal> Look(ScanSurface scan, SurveyNetwork network, in OrthographicView view)
    {
        float[] rented = ArrayPool<float>.Shared.Rent(ViewTensor.Length(view.Size));
        Span<float> planes = rented.AsSpan(0, ViewTensor.Length(view.Size));
        scan.Draw(view, planes);
        float[] map = network.Predict(planes);
        ArrayPool<float>.Shared.Return(rented);
        return Read(map, view);
    }

    /// <summary>The proposals of a map: its peaks, the highest first.</summary>
    /// <param name="map">The network's output for one view.</param>
    /// <param name="view">The view, file coordinates.</param>
    internal static List<Proposal> Read(float[] map, in OrthographicView view)
    {
        const int side = SurveyContract.MapSize, cells = side * side;
        var peaks = new List<int>();
        for (int cell = 0; cell < cells; cell++)
        {
            if (LandmarkNetwork.Sigmoid(map[cell]) >= LeastPresence && IsPeak(map, cell))
            {
                peaks.Add(cell);
            }
        }

        var proposals = new List<Proposal>();
        foreach (int cell in peaks.OrderByDescending(cell => map[cell]).Take(MostOfView))
        {
            float Number(int plane) => map[(plane * cells) + cell];
            Vector3d front = Direction(view, Number(SurveyContract.Front), Number(SurveyContract.Front + 1), Number(SurveyContract.Front + 2));
            Vector3d up = Direction(view, Number(SurveyContract.Up), Number(SurveyContract.Up + 1), Number(SurveyContract.Up + 2));
            up -= front * Vector3d.Dot(front, up);
            if (!(front.Length > 0.5) || !(up.Length > 1e-3))
            {
                continue; // a direction that isn't one
            }

            up = up.Normalized();
            Vector3 origin = view.Unproject(
                ((cell % side) + 0.5f + Number(SurveyContract.OffsetX)) * SurveyContract.CellPixels,
                ((cell / side) + 0.5f + Number(SurveyContract.OffsetY)) * SurveyContract.CellPixels,
                Number(SurveyContract.Depth) * view.HalfSize);
            double interocular = view.HalfSize * Math.Exp(Number(SurveyContract.LogInterocular));
            proposals.Add(new Proposal(
                new HeadFrame((Vector3d)origin, Vector3d.Cross(up, front), up, front, interocular), LandmarkNetwork.Sigmoid(map[cell])));
        }

        return proposals;
    }

    private static Vector3d Direction(in OrthographicView view, float x, float y, float z)
    {
        var direction = (Vector3d)((view.Right * x) + (view.Up * y) + (view.Toward * z));
        return direction.Length > 1e-3 ? direction.Normalized() : Vector3d.Zero;
    }

    private static bool IsPeak(float[] map, int cell)
    {
        const int side = SurveyContract.MapSize;
        (int row, int column) = (cell / side, cell % side);
        for (int y = Math.Max(0, row - 1); y <= Math.Min(side - 1, row + 1); y++)
        {
            for (int x = Math.Max(0, column - 1); x <= Math.Min(side - 1, column + 1); x++)
            {
                if (map[(y * side) + x] > map[cell])
                {
                    return false;
                }
            }
        }

        return true;
    }

    // From the front, so near that a head with its neck fills most of the view.
    private static OrthographicView CloserView(HeadFrame frame) => new(
        (Vector3)frame.ToFile(CloserCentre), (Vector3)frame.Left, (Vector3)frame.Up, (Vector3)frame.Front,
        CloserHalfSize * (float)frame.InterocularDistance, ModelContract.InputSize);

    private static Vector3[] Used(TriangleMesh mesh)
    {
        bool[] used = new bool[mesh.VertexCount];
        foreach (int v in mesh.Indices)
        {
            used[v] = true;
        }

        return [.. mesh.Positions.ToArray().Where((_, v) => used[v])];
    }

    private static IEnumerable<(Vector3 Toward, Vector3 Up)> AlongAxes()
    {
        foreach (float sign in (float[])[1, -1])
        {
            yield return (sign * Vector3.UnitX, Vector3.UnitY);
            yield return (sign * Vector3.UnitY, Vector3.UnitZ);
            yield return (sign * Vector3.UnitZ, Vector3.UnitY);
        }
    }

    private static IEnumerable<(Vector3 Toward, Vector3 Up)> BetweenAxes()
    {
        for (int corner = 0; corner < 8; corner++)
        {
            var toward = Vector3.Normalize(new Vector3((corner & 1) == 0 ? 1 : -1, (corner & 2) == 0 ? 1 : -1, (corner & 4) == 0 ? 1 : -1));
            yield return (toward, Vector3.Normalize(Vector3.UnitY - (toward * toward.Y)));
        }
    }

    /// <summary>Where a view shows a head.</summary>
    /// <param name="Frame">The head's frame.</param>
    /// <param name="Presence">Probability that there is one.</param>
    internal readonly record struct Proposal(HeadFrame Frame, double Presence);
}
