using System.Buffers;
using System.Numerics;
using System.Runtime.CompilerServices;
using System.Runtime.Intrinsics;

namespace AutoPlace.Geometry;

public sealed partial class BoundingVolumeHierarchy
{
    /// <summary>Pending items that fit on the stack (1 KiB); deeper trees rent their memory.</summary>
    private const int StackedItems = 128;

    private void FindNearest(Vector3 query, ref Nearest nearest)
    {
        Pending[]? rented = _pendingItems > StackedItems ? ArrayPool<Pending>.Shared.Rent(_pendingItems) : null;
        Span<Pending> pending = rented ?? stackalloc Pending[StackedItems];
        int count = 1;
        pending[0] = new Pending(0, 0);
        float reach = RoundUp(nearest.DistanceSquared);
        while (count > 0)
        {
            Pending item = pending[--count];
            if (!(item.Bound <= reach))
            {
                continue;
            }

            if (item.Child < 0)
            {
                TestNearest(~item.Child, query, ref nearest);
                reach = RoundUp(nearest.DistanceSquared);
            }
            else
            {
                ref readonly WideNode node = ref _nodes[item.Child];
                uint mask = node.Within(query, reach, out Vector256<float> bounds);
                count = Push(pending, count, node, mask, bounds);
            }
        }

        if (rented is not null)
        {
            ArrayPool<Pending>.Shared.Return(rented);
        }
    }

    private bool FindHit(Vector3 origin, Vector3 direction, ref FirstHit first, bool stopAtAny)
    {
        var ray = new ShearedRay(origin, direction);
        Vector3 inverse = InverseDirection(direction);
        Pending[]? rented = _pendingItems > StackedItems ? ArrayPool<Pending>.Shared.Rent(_pendingItems) : null;
        Span<Pending> pending = rented ?? stackalloc Pending[StackedItems];
        int count = 1;
        pending[0] = new Pending(0, 0);
        float end = RoundUp(first.Parameter);
        while (count > 0 && !(stopAtAny && first.Slot >= 0))
        {
            Pending item = pending[--count];
            if (!(item.Bound <= end))
            {
                continue;
            }

            if (item.Child < 0)
            {
                TestHit(~item.Child, ray, ref first);
                end = RoundUp(first.Parameter);
            }
            else
            {
                ref readonly WideNode node = ref _nodes[item.Child];
                uint mask = node.Met(origin, inverse, end, out Vector256<float> entries);
                count = Push(pending, count, node, mask, entries);
            }
        }

        if (rented is not null)
        {
            ArrayPool<Pending>.Shared.Return(rented);
        }

        return first.Slot >= 0;
    }

    /// <summary>Adds the children in the mask, the one with the lowest bound last, so that it comes off first.</summary>
    [MethodImpl(MethodImplOptions.AggressiveInlining)]
    private static int Push(Span<Pending> pending, int count, in WideNode node, uint mask, Vector256<float> bounds)
    {
        int start = count;
        for (; mask != 0; mask &= mask - 1)
        {
            int child = BitOperations.TrailingZeroCount(mask);
            var item = new Pending(bounds[child], node[child]);
            int at = count++;
            for (; at > start && pending[at - 1].Bound < item.Bound; at--)
            {
                pending[at] = pending[at - 1];
            }

            pending[at] = item;
        }

        return count;
    }

    private void TestNearest(int slot, Vector3 query, ref Nearest nearest)
    {
        double d2 = _triangles[slot].ClosestPoint(query, out Vector3d offset, out Vector3d weights);
        if ((d2 < nearest.DistanceSquared || (d2 == nearest.DistanceSquared && ComesBefore(slot, offset, nearest)))
            && (double.IsNegativeInfinity(nearest.LeastCosine) || _triangles[slot].Faces(nearest.Direction, nearest.LeastCosine)))
        {
            (nearest.DistanceSquared, nearest.Offset, nearest.Weights, nearest.Slot) = (d2, offset, weights, slot);
        }
    }

    private bool ComesBefore(int slot, Vector3d offset, in Nearest nearest)
    {
        if (nearest.Slot < 0)
        {
            return true;
        }

        Vector3d other = nearest.Offset;
        return offset.X != other.X ? offset.X < other.X
            : offset.Y != other.Y ? offset.Y < other.Y
            : offset.Z != other.Z ? offset.Z < other.Z
            : LeafTriangle.Compare(_triangles[slot], _triangles[nearest.Slot]) < 0;
    }

    private void TestHit(int slot, in ShearedRay ray, ref FirstHit first)
    {
        if (_triangles[slot].Intersects(ray, out double t, out Vector3d weights, out bool isFrontFace)
            && t >= 0
            && (t < first.Parameter
                || (t == first.Parameter
                    && (first.Slot < 0 || LeafTriangle.Compare(_triangles[slot], _triangles[first.Slot]) < 0))))
        {
            first = new FirstHit { Parameter = t, Weights = weights, Slot = slot, IsFrontFace = isFrontFace };
        }
    }

    /// <summary>A single-precision number not below the value.</summary>
    private static float RoundUp(double value) => MathF.BitIncrement((float)value);

    /// <summary>
    /// One over each coordinate; a coordinate too small for that becomes the smallest that works, so that no product
    /// with it is NaN (0 times infinity).
    /// </summary>
    private static Vector3 InverseDirection(Vector3 direction)
    {
        const float smallest = 1e-30f;
        static float Inverse(float d) => 1 / (MathF.Abs(d) < smallest ? MathF.CopySign(smallest, d) : d);
        return new Vector3(Inverse(direction.X), Inverse(direction.Y), Inverse(direction.Z));
    }

    private readonly struct Pending(float bound, int child)
    {
        public readonly float Bound = bound;
        public readonly int Child = child;
    }
}
