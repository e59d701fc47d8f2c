using System.Numerics;

namespace AutoPlace.Geometry;

public sealed partial class BoundingVolumeHierarchy
{
    private void FindNearest(Vector3 query, ref Nearest nearest)
    {
        Span<(float Bound, int Node)> pending = stackalloc (float, int)[MaxDepth];
        int count = 0;
        int current = 0;
        float bound = _nodes[0].DistanceSquared(query);
        while (true)
        {
            if (bound * Safety <= nearest.DistanceSquared)
            {
                Node node = _nodes[current];
                if (node.TriangleCount > 0)
                {
                    TestNearest(node, query, ref nearest);
                }
                else
                {
                    // The nearer child first: the other one is then often out of reach.
                    int near = node.First, far = node.First + 1;
                    float nearBound = _nodes[near].DistanceSquared(query);
                    float farBound = _nodes[far].DistanceSquared(query);
                    if (farBound < nearBound)
                    {
                        (near, far, nearBound, farBound) = (far, near, farBound, nearBound);
                    }

                    pending[count++] = (farBound, far);
                    (bound, current) = (nearBound, near);
                    continue;
                }
            }

            if (count == 0)
            {
                return;
            }

            (bound, current) = pending[--count];
        }
    }

    private void TestNearest(Node leaf, Vector3 query, ref Nearest nearest)
    {
        for (int slot = leaf.First; slot < leaf.First + leaf.TriangleCount; slot++)
        {
            ref readonly LeafTriangle triangle = ref _triangles[slot];
            double d2 = triangle.ClosestPoint(query, out Vector3d offset, out Vector3d weights);
            if (d2 < nearest.DistanceSquared || (d2 == nearest.DistanceSquared && ComesBefore(slot, offset, nearest)))
            {
                nearest = new Nearest { DistanceSquared = d2, Offset = offset, Weights = weights, Slot = slot };
            }
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

    private bool FindHit(Vector3 origin, Vector3 direction, ref FirstHit first, bool stopAtAny)
    {
        var ray = new ShearedRay(origin, direction);
        Vector3 inverse = InverseDirection(direction);
        Span<(float Entry, int Node)> pending = stackalloc (float, int)[MaxDepth];
        int count = 0;
        int current = 0;
        float entry = _nodes[0].Entry(origin, inverse);
        while (true)
        {
            if (entry <= first.Parameter)
            {
                Node node = _nodes[current];
                if (node.TriangleCount > 0)
                {
                    TestHit(node, ray, ref first);
                    if (stopAtAny && first.Slot >= 0)
                    {
                        return true;
                    }
                }
                else
                {
                    int near = node.First, far = node.First + 1;
                    float nearEntry = _nodes[near].Entry(origin, inverse);
                    float farEntry = _nodes[far].Entry(origin, inverse);
                    if (farEntry < nearEntry)
                    {
                        (near, far, nearEntry, farEntry) = (far, near, farEntry, nearEntry);
                    }

                    pending[count++] = (farEntry, far);
                    (entry, current) = (nearEntry, near);
                    continue;
                }
            }

            if (count == 0)
            {
                return first.Slot >= 0;
            }

            (entry, current) = pending[--count];
        }
    }

    private void TestHit(Node leaf, in ShearedRay ray, ref FirstHit first)
    {
        for (int slot = leaf.First; slot < leaf.First + leaf.TriangleCount; slot++)
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
    }

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

    /// <summary>A box with either two children, next to each other, or a range of triangles.</summary>
    private readonly struct Node(Vector3 min, Vector3 max, int first, int triangleCount)
    {
        private readonly Vector3 _min = min;

        /// <summary>First of two children, or first triangle slot.</summary>
        public readonly int First = first;

        private readonly Vector3 _max = max;

        /// <summary>Number of triangles; 0 for a node with children.</summary>
        public readonly int TriangleCount = triangleCount;

        /// <summary>Squared distance of a point from the box.</summary>
        public float DistanceSquared(Vector3 query)
        {
            Vector3 outside = Vector3.Max(Vector3.Max(_min - query, query - _max), Vector3.Zero);
            return Vector3.Dot(outside, outside);
        }

        /// <summary>Distance of a point from the box's farthest corner.</summary>
        public double FarthestFrom(Vector3d point)
        {
            double x = Math.Max(point.X - _min.X, _max.X - point.X);
            double y = Math.Max(point.Y - _min.Y, _max.Y - point.Y);
            double z = Math.Max(point.Z - _min.Z, _max.Z - point.Z);
            return new Vector3d(x, y, z).Length;
        }

        /// <summary>A parameter not beyond the ray's entry into the box; +infinity when it passes.</summary>
        public float Entry(Vector3 origin, Vector3 inverse)
        {
            Vector3 t0 = (_min - origin) * inverse;
            Vector3 t1 = (_max - origin) * inverse;
            Vector3 low = Vector3.Min(t0, t1), high = Vector3.Max(t0, t1);
            float entry = MathF.Max(MathF.Max(low.X, low.Y), MathF.Max(low.Z, 0));
            float exit = MathF.Min(MathF.Min(high.X, high.Y), high.Z);

            // Each term has a relative error under 3 half ulp: the box is entered a little early and left a little late.
            return entry * Safety <= exit / Safety ? entry * Safety : float.PositiveInfinity;
        }
    }
}
