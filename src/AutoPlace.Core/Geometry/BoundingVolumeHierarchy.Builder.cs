using System.Numerics;

namespace AutoPlace.Geometry;

public sealed partial class BoundingVolumeHierarchy
{
    /// <summary>
    /// Cuts the triangles top down where the surface area heuristic is least over 16 bins on each axis (Wald 2007, "On
    /// fast construction of SAH-based bounding volume hierarchies"), small groups in the middle; then gathers the two-way
    /// tree into nodes of eight by opening the child with the largest surface first (Dammertz, Hanika and Keller 2008;
    /// from memory).
    /// </summary>
    private sealed class Builder
    {
        private const int BinCount = 16;

        /// <summary>Groups up to this size are halved: bins cost more than they gain (measured).</summary>
        private const int HalvedSize = 8;

        /// <summary>Larger groups are cut across their widest axis.</summary>
        private const int WidestAxisOnly = 1024;

        /// <summary>Larger groups are cut on all cores.</summary>
        private const int CutAtOnce = 8192;

        /// <summary>Below this depth groups are halved whatever their size, so that no path grows long.</summary>
        private const int DepthOfHalving = 48;

        private readonly LeafTriangle[] _triangles;
        private readonly Vector3[] _min, _max;
        private readonly int[] _order;
        private readonly Branch[] _branches;
        private readonly List<WideNode> _nodes = [];

        public Builder(TriangleMesh mesh)
        {
            int count = mesh.TriangleCount;
            _triangles = new LeafTriangle[count];
            _min = new Vector3[count];
            _max = new Vector3[count];
            _order = new int[count];
            _branches = new Branch[2 * count];
            for (int t = 0; t < count; t++)
            {
                (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
                _triangles[t] = new LeafTriangle(a, b, c, t);
                _min[t] = Vector3.Min(Vector3.Min(a, b), c);
                _max[t] = Vector3.Max(Vector3.Max(a, b), c);
                _order[t] = t;
            }
        }

        /// <summary>Builds the tree.</summary>
        /// <returns>Nodes, children after parents; triangles by slot; how many items can be pending in a traversal.</returns>
        public (WideNode[] Nodes, LeafTriangle[] Triangles, int PendingItems) Build()
        {
            if (_triangles.Length == 0)
            {
                return ([], [], 0);
            }

            Cut(new Group(0, 1, 0, _order.Length, 0));
            int pendingItems = Gather();
            var sorted = new LeafTriangle[_order.Length];
            for (int slot = 0; slot < sorted.Length; slot++)
            {
                sorted[slot] = _triangles[_order[slot]];
            }

            return (_nodes.ToArray(), sorted, pendingItems);
        }

        // Below a group of n members lie 2 n - 2 branches; their places follow from the sizes of the groups alone, so that
        // groups can be cut at the same time.
        private void Cut(in Group group)
        {
            if (group.Count > CutAtOnce)
            {
                (Group left, Group right) = CutOnce(group);
                Parallel.Invoke(() => Cut(left), () => Cut(right));
                return;
            }

            var pending = new Stack<Group>();
            pending.Push(group);
            while (pending.TryPop(out Group next))
            {
                if (next.Count > 1)
                {
                    (Group left, Group right) = CutOnce(next);
                    pending.Push(right);
                    pending.Push(left);
                }
                else
                {
                    (Vector3 min, Vector3 max) = Bounds(_order.AsSpan(next.First, 1));
                    _branches[next.Branch] = new Branch(min, max, ~next.First);
                }
            }
        }

        private (Group Left, Group Right) CutOnce(in Group group)
        {
            Span<int> members = _order.AsSpan(group.First, group.Count);
            (Vector3 min, Vector3 max) = Bounds(members);
            _branches[group.Branch] = new Branch(min, max, group.Below);
            int left = Split(members, group.Depth), below = group.Below + 2;
            return (
                new Group(group.Below, below, group.First, left, group.Depth + 1),
                new Group(group.Below + 1, below + (2 * left) - 2, group.First + left, group.Count - left, group.Depth + 1));
        }

        private int Gather()
        {
            // Pending below a node: its children, one of which is being followed.
            int most = 1;
            var tasks = new Stack<(int Branch, int Node, int Pending)>();
            var open = new List<int>(WideNode.Width);
            _nodes.Add(default);
            tasks.Push((0, 0, 0));
            while (tasks.TryPop(out (int Branch, int Node, int Pending) task))
            {
                open.Clear();
                open.Add(task.Branch);
                while (open.Count < WideNode.Width && Largest(open) is int widest and >= 0)
                {
                    int child = _branches[open[widest]].Child;
                    open[widest] = child;
                    open.Add(child + 1);
                }

                int pending = task.Pending + open.Count;
                most = Math.Max(most, pending);
                WideNode node = default;
                foreach (int branch in open)
                {
                    Branch box = _branches[branch];
                    if (box.Child >= 0)
                    {
                        tasks.Push((branch, _nodes.Count, pending - 1));
                        node.Add(box.Min, box.Max, _nodes.Count);
                        _nodes.Add(default);
                    }
                    else
                    {
                        node.Add(box.Min, box.Max, box.Child);
                    }
                }

                _nodes[task.Node] = node;
            }

            return most;
        }

        /// <summary>Of the branches that can be opened the one with the largest surface, or -1.</summary>
        private int Largest(List<int> open)
        {
            (int widest, float area) = (-1, float.NegativeInfinity);
            for (int i = 0; i < open.Count; i++)
            {
                Branch box = _branches[open[i]];
                if (box.Child >= 0 && HalfArea(box.Min, box.Max) > area)
                {
                    (widest, area) = (i, HalfArea(box.Min, box.Max));
                }
            }

            return widest;
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

        /// <summary>Sorts two or more members into two groups; returns the size of the first.</summary>
        private int Split(Span<int> members, int depth)
        {
            (Vector3 low, Vector3 high) = CentreBounds(members);
            if (members.Length <= HalvedSize)
            {
                SortAlongWidest(members, high - low);
                return members.Length / 2;
            }

            if (depth >= DepthOfHalving || low == high)
            {
                return members.Length / 2;
            }

            (int axis, int bin) = CheapestCut(members, low, high);
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

        private void SortAlongWidest(Span<int> members, Vector3 extent)
        {
            int axis = extent.X >= extent.Y && extent.X >= extent.Z ? 0 : extent.Y >= extent.Z ? 1 : 2;
            for (int i = 1; i < members.Length; i++)
            {
                int t = members[i], at = i;
                float centre = Centre(t)[axis];
                for (; at > 0 && Centre(members[at - 1])[axis] > centre; at--)
                {
                    members[at] = members[at - 1];
                }

                members[at] = t;
            }
        }

        private (int Axis, int Bin) CheapestCut(ReadOnlySpan<int> members, Vector3 low, Vector3 high)
        {
            Span<Bin16> bins = stackalloc Bin16[BinCount];
            Span<float> rightCosts = stackalloc float[BinCount];
            (int Axis, int Bin, float Cost) best = (0, 0, float.PositiveInfinity);
            Vector3 extent = high - low;
            float widest = MathF.Max(extent.X, MathF.Max(extent.Y, extent.Z));
            for (int axis = 0; axis < 3; axis++)
            {
                // Where the whole mesh is cut, the widest axis does as well as the best of three (measured).
                if (!(high[axis] > low[axis]) || (members.Length > WidestAxisOnly && high[axis] - low[axis] < widest))
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

            return (best.Axis, best.Bin);
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

        /// <summary>A box with two branches, next to each other, or the complement of one triangle's slot.</summary>
        private readonly record struct Branch(Vector3 Min, Vector3 Max, int Child);

        /// <summary>Triangles that a branch holds, by their place in the order, and where the branches below it begin.</summary>
        private readonly record struct Group(int Branch, int Below, int First, int Count, int Depth);

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
