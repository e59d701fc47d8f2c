using System.Numerics;

namespace AutoPlace.Geometry;

public sealed partial class BoundingVolumeHierarchy
{
    /// <summary>
    /// Cuts the triangles top down where the surface area heuristic is least over 16 bins on each axis (Wald 2007, "On
    /// fast construction of SAH-based bounding volume hierarchies"). Below a depth of 48 it halves the triangles, so
    /// that no path is longer than 48 + 31.
    /// </summary>
    private sealed class Builder
    {
        private const int BinCount = 16;
        private const int LeafSize = 4;
        private const int DepthOfHalving = 48;

        /// <summary>Cost of a step into a node relative to a triangle test (measured: about a quarter).</summary>
        private const float StepCost = 0.25f;

        private readonly LeafTriangle[] _triangles;
        private readonly Vector3[] _min, _max;
        private readonly int[] _order;
        private readonly List<Node> _nodes;

        public Builder(TriangleMesh mesh)
        {
            int count = mesh.TriangleCount;
            _triangles = new LeafTriangle[count];
            _min = new Vector3[count];
            _max = new Vector3[count];
            _order = new int[count];
            _nodes = new List<Node>(Math.Max(1, 2 * count));
            for (int t = 0; t < count; t++)
            {
                (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
                _triangles[t] = new LeafTriangle(a, b, c, t);
                _min[t] = Vector3.Min(Vector3.Min(a, b), c);
                _max[t] = Vector3.Max(Vector3.Max(a, b), c);
                _order[t] = t;
            }
        }

        public (Node[] Nodes, LeafTriangle[] Triangles) Build()
        {
            if (_triangles.Length == 0)
            {
                return ([], []);
            }

            var pending = new Stack<(int Node, int First, int Count, int Depth)>();
            _nodes.Add(default);
            pending.Push((0, 0, _order.Length, 0));
            while (pending.TryPop(out (int Node, int First, int Count, int Depth) task))
            {
                Span<int> members = _order.AsSpan(task.First, task.Count);
                (Vector3 min, Vector3 max) = Bounds(members);
                int left = Split(members, min, max, task.Depth);
                if (left == 0)
                {
                    _nodes[task.Node] = new Node(min, max, task.First, task.Count);
                    continue;
                }

                int child = _nodes.Count;
                _nodes[task.Node] = new Node(min, max, child, 0);
                _nodes.Add(default);
                _nodes.Add(default);
                pending.Push((child + 1, task.First + left, task.Count - left, task.Depth + 1));
                pending.Push((child, task.First, left, task.Depth + 1));
            }

            var sorted = new LeafTriangle[_order.Length];
            for (int slot = 0; slot < sorted.Length; slot++)
            {
                sorted[slot] = _triangles[_order[slot]];
            }

            return (_nodes.ToArray(), sorted);
        }

        private (Vector3 Min, Vector3 Max) Bounds(ReadOnlySpan<int> members)
        {
            (Vector3 min, Vector3 max) = (_min[members[0]], _max[members[0]]);
            foreach (int t in members)
            {
                min = Vector3.Min(min, _min[t]);
                max = Vector3.Max(max, _max[t]);
            }

            return (min, max);
        }

        /// <summary>Sorts the members into two groups; returns the size of the first, 0 for "leave them together".</summary>
        private int Split(Span<int> members, Vector3 min, Vector3 max, int depth)
        {
            if (members.Length <= 1)
            {
                return 0;
            }

            (Vector3 low, Vector3 high) = CentreBounds(members);
            if (depth >= DepthOfHalving || low == high)
            {
                return members.Length <= LeafSize ? 0 : members.Length / 2;
            }

            (int axis, int bin, float cost) = CheapestCut(members, low, high);
            float area = HalfArea(min, max);
            bool pays = (StepCost * area) + cost < members.Length * area;
            if (members.Length <= LeafSize && !pays)
            {
                return 0;
            }

            int left = 0;
            float scale = BinScale(low[axis], high[axis]);
            for (int i = 0; i < members.Length; i++)
            {
                if (Bin(Centre(members[i])[axis], low[axis], scale) < bin)
                {
                    (members[left], members[i]) = (members[i], members[left]);
                    left++;
                }
            }

            return left == 0 || left == members.Length ? members.Length / 2 : left;
        }

        private (int Axis, int Bin, float Cost) CheapestCut(ReadOnlySpan<int> members, Vector3 low, Vector3 high)
        {
            Span<Bin16> bins = stackalloc Bin16[BinCount];
            Span<float> rightCosts = stackalloc float[BinCount];
            (int Axis, int Bin, float Cost) best = (0, 0, float.PositiveInfinity);
            for (int axis = 0; axis < 3; axis++)
            {
                if (!(high[axis] > low[axis]))
                {
                    continue;
                }

                bins.Fill(Bin16.Empty);
                float scale = BinScale(low[axis], high[axis]);
                foreach (int t in members)
                {
                    bins[Bin(Centre(t)[axis], low[axis], scale)].Add(_min[t], _max[t]);
                }

                Bin16 right = Bin16.Empty;
                for (int b = BinCount - 1; b > 0; b--)
                {
                    right.Add(bins[b]);
                    rightCosts[b] = right.Cost;
                }

                Bin16 left = Bin16.Empty;
                for (int b = 1; b < BinCount; b++)
                {
                    left.Add(bins[b - 1]);
                    float cost = left.Cost + rightCosts[b];
                    if (cost < best.Cost)
                    {
                        best = (axis, b, cost);
                    }
                }
            }

            return best;
        }

        private (Vector3 Low, Vector3 High) CentreBounds(ReadOnlySpan<int> members)
        {
            Vector3 low = Centre(members[0]), high = low;
            foreach (int t in members)
            {
                Vector3 centre = Centre(t);
                low = Vector3.Min(low, centre);
                high = Vector3.Max(high, centre);
            }

            return (low, high);
        }

        private Vector3 Centre(int triangle) => (_min[triangle] * 0.5f) + (_max[triangle] * 0.5f);

        private static float BinScale(float low, float high) => BinCount / (high - low);

        private static int Bin(float centre, float low, float scale) =>
            Math.Clamp((int)((centre - low) * scale), 0, BinCount - 1);

        private static float HalfArea(Vector3 min, Vector3 max)
        {
            Vector3 size = max - min;
            return (size.X * size.Y) + (size.Y * size.Z) + (size.Z * size.X);
        }

        private struct Bin16
        {
            private Vector3 _low, _high;
            private int _count;

            public static Bin16 Empty => new()
            {
                _low = new Vector3(float.PositiveInfinity),
                _high = new Vector3(float.NegativeInfinity),
            };

            public readonly float Cost => _count == 0 ? 0 : _count * HalfArea(_low, _high);

            public void Add(Vector3 min, Vector3 max)
            {
                _low = Vector3.Min(_low, min);
                _high = Vector3.Max(_high, max);
                _count++;
            }

            public void Add(in Bin16 other)
            {
                _low = Vector3.Min(_low, other._low);
                _high = Vector3.Max(_high, other._high);
                _count += other._count;
            }
        }
    }
}
