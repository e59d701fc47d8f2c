using System.Buffers;
using System.Numerics;

namespace AutoPlace.Geometry;

public sealed partial class BoundingVolumeHierarchy
{
    /// <summary>
    /// Gathers the triangles that follow each other in Morton's order into small clusters, then cuts the clusters top down
    /// where the surface area heuristic is least (Pantaleoni and Luebke 2010, "HLBVH"; from memory) over 16 bins on each
    /// axis (Wald 2007, "On fast construction of SAH-based bounding volume hierarchies") until a group fits a node; then
    /// gathers the two-way tree into nodes of eight by opening the child with the largest surface first (Dammertz, Hanika
    /// and Keller 2008; from memory).
    /// </summary>
    private sealed class Builder : IDisposable
    {
        private const int BinCount = 16;

        /// <summary>Larger groups are cut across their widest axis.</summary>
        private const int WidestAxisOnly = 1024;

        /// <summary>Groups of more clusters are cut on all cores.</summary>
        private const int CutAtOnce = 2048;

        /// <summary>Below this depth groups are halved whatever their size, so that no path grows long.</summary>
        private const int DepthOfHalving = 48;

        private readonly TriangleMesh _mesh;
        private readonly int[] _order;
        private readonly LeafTriangle[] _sorted;

        // From the pool: for a head they are large enough to be cleared and collected at a price.
        private readonly Item[] _items;
        private readonly int _itemCount;
        private readonly Branch[] _branches;
        private WideNode[] _nodes;
        private int _nodeCount;

        public Builder(TriangleMesh mesh)
        {
            _mesh = mesh;
            int count = mesh.TriangleCount;
            (Vector3 Min, Vector3 Max)[] boxes = ArrayPool<(Vector3, Vector3)>.Shared.Rent(count);
            Vector3[] centres = ArrayPool<Vector3>.Shared.Rent(count);
            (Vector3 low, Vector3 high) = (new(float.PositiveInfinity), new(float.NegativeInfinity));
            for (int t = 0; t < count; t++)
            {
                (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
                (Vector3 min, Vector3 max) = (Vector3.Min(Vector3.Min(a, b), c), Vector3.Max(Vector3.Max(a, b), c));
                boxes[t] = (min, max);
                centres[t] = (min * 0.5f) + (max * 0.5f);
                (low, high) = (Vector3.Min(low, centres[t]), Vector3.Max(high, centres[t]));
            }

            (_order, ulong[] codes) = MortonOrder.Sort(centres.AsSpan(0, count), low, high);
            _items = ArrayPool<Item>.Shared.Rent(count);
            _itemCount = Cluster(_order, codes, boxes, _items);
            ArrayPool<(Vector3, Vector3)>.Shared.Return(boxes);
            ArrayPool<Vector3>.Shared.Return(centres);
            _branches = ArrayPool<Branch>.Shared.Rent(2 * _itemCount);
            _nodes = ArrayPool<WideNode>.Shared.Rent(_itemCount + (_itemCount / 2) + 1);
            _sorted = new LeafTriangle[count];
        }

        public void Dispose()
        {
            ArrayPool<Item>.Shared.Return(_items);
            ArrayPool<Branch>.Shared.Return(_branches);
            ArrayPool<WideNode>.Shared.Return(_nodes);
        }

        /// <summary>Builds the tree.</summary>
        /// <returns>Nodes, children after parents; triangles by slot; how many items can be pending in a traversal.</returns>
        public (WideNode[] Nodes, LeafTriangle[] Triangles, int PendingItems) Build()
        {
            if (_itemCount == 0)
            {
                return ([], [], 0);
            }

            Cut(new Group(0, 1, 0, _itemCount, 0, _sorted.Length, 0, Extent.Of(_items.AsSpan(0, _itemCount))));
            int pendingItems = Gather();
            return (_nodes.AsSpan(0, _nodeCount).ToArray(), _sorted, pendingItems);
        }

        // Runs of triangles that fit a node: cut where the highest bit of the code changes, in the middle where none does.
        private static int Cluster(int[] order, ulong[] codes, (Vector3 Min, Vector3 Max)[] boxes, Item[] clusters)
        {
            int count = 0;
            var pending = new Stack<(int First, int End)>();
            pending.Push((0, order.Length));
            while (pending.TryPop(out (int First, int End) run))
            {
                if (run.End - run.First > WideNode.Width)
                {
                    int middle = Middle(codes, run.First, run.End);
                    pending.Push((middle, run.End));
                    pending.Push((run.First, middle));
                    continue;
                }

                (Vector3 min, Vector3 max) = (new(float.PositiveInfinity), new(float.NegativeInfinity));
                for (int i = run.First; i < run.End; i++)
                {
                    (Vector3 low, Vector3 high) = boxes[order[i]];
                    (min, max) = (Vector3.Min(min, low), Vector3.Max(max, high));
                }

                if (run.End > run.First)
                {
                    clusters[count++] = new Item(min, max, run.First, run.End - run.First);
                }
            }

            return count;
        }

        private static int Middle(ulong[] codes, int first, int end)
        {
            ulong differing = codes[first] ^ codes[end - 1];
            if (differing == 0)
            {
                return (first + end) / 2;
            }

            ulong bit = 1UL << BitOperations.Log2(differing);
            (int low, int high) = (first, end - 1);
            while (high - low > 1)
            {
                int middle = (low + high) / 2;
                (low, high) = (codes[middle] & bit) == 0 ? (middle, high) : (low, middle);
            }

            return high;
        }

        // Below a group of n members lie at most 2 n - 2 branches; their places follow from the sizes of the groups alone,
        // so that groups can be cut at the same time.
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
                if (next.Triangles > WideNode.Width)
                {
                    (Group left, Group right) = CutOnce(next);
                    pending.Push(right);
                    pending.Push(left);
                }
                else
                {
                    _branches[next.Branch] = new Branch(next.Extent.Min, next.Extent.Max, ~next.Slot, next.Triangles);
                    Sort(next);
                }
            }
        }

        // Puts a group's triangles into their slots.
        private void Sort(in Group group)
        {
            int slot = group.Slot;
            foreach (ref readonly Item item in _items.AsSpan(group.First, group.Count))
            {
                for (int i = 0; i < item.Triangles; i++)
                {
                    int triangle = _order[item.First + i];
                    (Vector3 a, Vector3 b, Vector3 c) = _mesh.Corners(triangle);
                    _sorted[slot++] = new LeafTriangle(a, b, c, triangle);
                }
            }
        }

        private (Group Left, Group Right) CutOnce(in Group group)
        {
            Span<Item> members = _items.AsSpan(group.First, group.Count);
            _branches[group.Branch] = new Branch(group.Extent.Min, group.Extent.Max, group.Below, group.Triangles);
            (int left, Extent leftExtent, Extent rightExtent) = Split(members, group);
            int below = group.Below + 2, depth = group.Depth + 1;
            int triangles = 0;
            foreach (ref readonly Item item in members[..left])
            {
                triangles += item.Triangles;
            }

            return (
                new Group(group.Below, below, group.First, left, group.Slot, triangles, depth, leftExtent),
                new Group(
                    group.Below + 1,
                    below + (2 * left) - 2,
                    group.First + left,
                    group.Count - left,
                    group.Slot + triangles,
                    group.Triangles - triangles,
                    depth,
                    rightExtent));
        }

        private int Gather()
        {
            // Pending below a node: its children, one of which is being followed.
            int most = 1;
            var tasks = new Stack<(int Branch, int Node, int Pending)>();
            var open = new List<int>(WideNode.Width);
            AddNode(default);
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
                        tasks.Push((branch, _nodeCount, pending - 1));
                        node.Add(box.Min, box.Max, _nodeCount);
                        AddNode(default);
                    }
                    else if (box.Count == 1)
                    {
                        node.Add(box.Min, box.Max, box.Child);
                    }
                    else
                    {
                        node.Add(box.Min, box.Max, _nodeCount);
                        AddNode(NodeOf(~box.Child, box.Count));
                        most = Math.Max(most, pending - 1 + box.Count);
                    }
                }

                _nodes[task.Node] = node;
            }

            return most;
        }

        private void AddNode(in WideNode node)
        {
            if (_nodeCount == _nodes.Length)
            {
                WideNode[] more = ArrayPool<WideNode>.Shared.Rent(2 * _nodes.Length);
                _nodes.CopyTo(more, 0);
                ArrayPool<WideNode>.Shared.Return(_nodes);
                _nodes = more;
            }

            _nodes[_nodeCount++] = node;
        }

        private WideNode NodeOf(int first, int count)
        {
            WideNode node = default;
            for (int slot = first; slot < first + count; slot++)
            {
                (Vector3 min, Vector3 max) = _sorted[slot].Bounds;
                node.Add(min, max, ~slot);
            }

            return node;
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

        /// <summary>Sorts members into two groups; returns the size of the first and what both extend over.</summary>
        private static (int Left, Extent LeftExtent, Extent RightExtent) Split(Span<Item> members, in Group group)
        {
            (Vector3 low, Vector3 high) = (group.Extent.Low, group.Extent.High);
            if (group.Depth >= DepthOfHalving || low == high)
            {
                return Halves(members);
            }

            (int axis, int bin) = CheapestCut(members, low, high);
            int left = 0;
            float scale = BinScale(low[axis], high[axis]);
            (Extent leftExtent, Extent rightExtent) = (Extent.Empty, Extent.Empty);
            for (int i = 0; i < members.Length; i++)
            {
                Item item = members[i];
                if (Bin(item.Centre[axis], low[axis], scale) < bin)
                {
                    leftExtent.Add(item);
                    (members[left], members[i]) = (item, members[left]);
                    left++;
                }
                else
                {
                    rightExtent.Add(item);
                }
            }

            return left == 0 || left == members.Length ? Halves(members) : (left, leftExtent, rightExtent);
        }

        private static (int Left, Extent LeftExtent, Extent RightExtent) Halves(ReadOnlySpan<Item> members)
        {
            int left = members.Length / 2;
            return (left, Extent.Of(members[..left]), Extent.Of(members[left..]));
        }

        private static (int Axis, int Bin) CheapestCut(ReadOnlySpan<Item> members, Vector3 low, Vector3 high)
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
                foreach (ref readonly Item item in members)
                {
                    bins[Bin(item.Centre[axis], low[axis], scale)].Add(item.Low, item.High, item.Triangles);
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

        private static float BinScale(float low, float high) => BinCount / (high - low);

        private static int Bin(float centre, float low, float scale) =>
            Math.Clamp((int)((centre - low) * scale), 0, BinCount - 1);

        private static float HalfArea(Vector3 min, Vector3 max)
        {
            Vector3 size = max - min;
            return (size.X * size.Y) + (size.Y * size.Z) + (size.Z * size.X);
        }

        /// <summary>A box with two branches, next to each other, or the complement of its first triangle's slot; and its number of triangles.</summary>
        private readonly record struct Branch(Vector3 Min, Vector3 Max, int Child, int Count);

        /// <summary>
        /// Clusters that a branch holds, by their place in the order; their triangles by slot; where the branches below it
        /// begin, and what the clusters extend over.
        /// </summary>
        private readonly record struct Group(int Branch, int Below, int First, int Count, int Slot, int Triangles, int Depth, Extent Extent);

        /// <summary>A cluster's box, and which triangles it holds; the fourth lanes say nothing about places.</summary>
        private readonly struct Item(Vector3 min, Vector3 max, int first, int triangles)
        {
            public readonly Vector4 Low = new(min, BitConverter.Int32BitsToSingle(first));
            public readonly Vector4 High = new(max, BitConverter.Int32BitsToSingle(triangles));

            public int First => BitConverter.SingleToInt32Bits(Low.W);

            public int Triangles => BitConverter.SingleToInt32Bits(High.W);

            public Vector4 Centre => (Low * 0.5f) + (High * 0.5f);
        }

        /// <summary>The box around boxes, and the box around their centres.</summary>
        private struct Extent
        {
            private Vector4 _min, _max, _low, _high;

            public static Extent Empty => new()
            {
                _min = new(float.PositiveInfinity),
                _max = new(float.NegativeInfinity),
                _low = new(float.PositiveInfinity),
                _high = new(float.NegativeInfinity),
            };

            public readonly Vector3 Min => _min.AsVector3();

            public readonly Vector3 Max => _max.AsVector3();

            public readonly Vector3 Low => _low.AsVector3();

            public readonly Vector3 High => _high.AsVector3();

            public static Extent Of(ReadOnlySpan<Item> items)
            {
                Extent extent = Empty;
                foreach (ref readonly Item item in items)
                {
                    extent.Add(item);
                }

                return extent;
            }

            public void Add(in Item item)
            {
                Vector4 centre = item.Centre;
                _min = Vector4.MinNative(_min, item.Low);
                _max = Vector4.MaxNative(_max, item.High);
                _low = Vector4.MinNative(_low, centre);
                _high = Vector4.MaxNative(_high, centre);
            }
        }

        private struct Bin16
        {
            private Vector4 _low, _high;
            private int _count;

            public static Bin16 Empty => new() { _low = new(float.PositiveInfinity), _high = new(float.NegativeInfinity) };

            public readonly float Cost => _count == 0 ? 0 : _count * HalfArea(_low.AsVector3(), _high.AsVector3());

            public void Add(Vector4 low, Vector4 high, int count)
            {
                _low = Vector4.MinNative(_low, low);
                _high = Vector4.MaxNative(_high, high);
                _count += count;
            }

            public void Add(in Bin16 other) => Add(other._low, other._high, other._count);
        }
    }
}
