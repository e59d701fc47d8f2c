using System.Numerics;
using System.Runtime.Intrinsics;
using AutoPlace.Geometry;
using AutoPlace.Tests.Heads;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Geometry;

public sealed class BoundingVolumeHierarchyTests
{
    public static IEnumerable<TheoryDataRow<string>> Meshes => AwkwardMeshes.Names;

    [Theory]
    [MemberData(nameof(Meshes))]
    public void ClosestPoint_equals_brute_force(string name)
    {
        TriangleMesh mesh = AwkwardMeshes.Build(name);
        var hierarchy = new BoundingVolumeHierarchy(mesh);
        foreach (Vector3 query in QueriesAround(mesh, seed: 1, count: 300))
        {
            SurfaceProximity found = hierarchy.ClosestPoint(query);
            double truth = double.PositiveInfinity;
            for (int t = 0; t < mesh.TriangleCount; t++)
            {
                (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
                truth = Math.Min(truth, DistanceToTriangle(query, a, b, c));
            }

            double size = Size(mesh);
            Assert.Equal(truth, found.Distance, 1e-7 * (size + truth));
            Assert.Equal(found.Distance, Vector3d.Distance(query, found.Position), 1e-12 * (size + truth));
            AssertOnSurface(mesh, found.Point, found.Position, 1e-7 * (size + query.Length()));
        }
    }

    [Theory]
    [MemberData(nameof(Meshes))]
    public void ClosestFacing_equals_the_closest_point_of_the_triangles_that_face_there(string name)
    {
        const double leastCosine = 0.3;
        TriangleMesh mesh = AwkwardMeshes.Build(name);
        var hierarchy = new BoundingVolumeHierarchy(mesh);
        Vector3d direction = new Vector3d(0.3, -0.5, 0.8).Normalized();
        int[] facing = [.. Enumerable.Range(0, mesh.TriangleCount).Where(t =>
        {
            (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
            Vector3d normal = Normal(a, b, c);
            return normal.Length > 0 && Vector3d.Dot(normal, direction) >= leastCosine * normal.Length;
        })];
        var those = new BoundingVolumeHierarchy(mesh.Subset(facing));
        foreach (Vector3 query in QueriesAround(mesh, seed: 3, count: 100))
        {
            float reach = (float)Size(mesh) / 4;
            SurfaceProximity found = hierarchy.ClosestFacing(query, direction, leastCosine, reach);
            SurfaceProximity expected = those.ClosestPoint(query, reach);
            Assert.Equal(expected.IsFound, found.IsFound);
            Assert.Equal(expected.Distance, found.Distance);
            Assert.Equal(expected.IsFound ? facing[expected.Point.Triangle] : -1, found.Point.Triangle);
        }
    }

    [Theory]
    [MemberData(nameof(Meshes))]
    public void ClosestPoint_is_the_same_to_the_last_bit_on_a_shuffled_mesh(string name)
    {
        TriangleMesh mesh = AwkwardMeshes.Build(name);
        TriangleMesh shuffled = Shapes.Shuffle(mesh, new Random(7));
        var hierarchy = new BoundingVolumeHierarchy(mesh);
        var other = new BoundingVolumeHierarchy(shuffled);

        // Queries at vertices and edge midpoints tie between all triangles around them; the centre of a sphere ties
        // between a great many.
        foreach (Vector3 query in QueriesAround(mesh, seed: 2, count: 300))
        {
            SurfaceProximity first = hierarchy.ClosestPoint(query);
            SurfaceProximity second = other.ClosestPoint(query);
            Assert.Equal(first.Distance, second.Distance);
            Assert.Equal(first.Position, second.Position);
            Assert.Equal(SortedCorners(mesh, first.Point.Triangle), SortedCorners(shuffled, second.Point.Triangle));
        }
    }

    [Fact]
    public void ClosestPoint_on_a_sphere_lies_on_the_radius()
    {
        var hierarchy = new BoundingVolumeHierarchy(Shapes.Sphere(64, 12));
        Gen.Float[-40, 40].Select(Gen.Float[-40, 40], Gen.Float[-40, 40]).Where((x, y, z) => (x * x) + (y * y) + (z * z) > 1)
            .Sample(
                (x, y, z) =>
                {
                    var query = new Vector3(x, y, z);
                    SurfaceProximity found = hierarchy.ClosestPoint(query);

                    // A chord over 1/64 of a quarter turn stays within r (1 - cos(half of it * sqrt 2)) of the sphere.
                    double sag = 12 * (1 - Math.Cos(Math.PI / 256 * Math.Sqrt(2) * 1.5));
                    Assert.Equal(Math.Abs(query.Length() - 12), found.Distance, sag);
                },
                seed: "0N0XIzNsQ0O2",
                iter: 1000);
    }

    [Fact]
    public void ClosestPoint_beyond_reach_is_not_found()
    {
        var hierarchy = new BoundingVolumeHierarchy(Shapes.Box(new(-1), new(1)));
        Assert.False(hierarchy.ClosestPoint(new Vector3(3, 0, 0), 1.99f).IsFound);
        Assert.Equal(2, hierarchy.ClosestPoint(new Vector3(3, 0, 0), 2).Distance);
        Assert.Equal(new Vector3d(1, 0, 0), hierarchy.ClosestPoint(new Vector3(3, 0, 0), 2).Position);
    }

    [Fact]
    public void ClosestPoint_that_ties_has_the_lowest_coordinates()
    {
        var hierarchy = new BoundingVolumeHierarchy(Shapes.Box(new(-1), new(1)));
        Assert.Equal(new Vector3d(-1, 0, 0), hierarchy.ClosestPoint(Vector3.Zero).Position);
    }

    [Fact]
    public void Batch_equals_single_queries_to_the_last_bit()
    {
        TriangleMesh mesh = Shapes.Lump(16);
        var hierarchy = new BoundingVolumeHierarchy(mesh);
        Vector3[] queries = [.. QueriesAround(mesh, seed: 3, count: 3000)];
        Vector3[] directions = [.. queries.Select(q => new Vector3(0.1f, 0.2f, 0.05f) - q)];
        var nearest = new SurfaceProximity[queries.Length];
        var hits = new RayHit[queries.Length];
        hierarchy.ClosestPoint(queries, nearest);
        hierarchy.CastRay(queries, directions, hits);
        for (int i = 0; i < queries.Length; i++)
        {
            Assert.Equal(hierarchy.ClosestPoint(queries[i]), nearest[i]);
            Assert.Equal(hierarchy.CastRay(queries[i], directions[i]), hits[i]);
        }
    }

    [Theory]
    [MemberData(nameof(Meshes))]
    public void CastRay_equals_brute_force(string name)
    {
        TriangleMesh mesh = AwkwardMeshes.Build(name);
        TriangleMesh shuffled = Shapes.Shuffle(mesh, new Random(8));
        var hierarchy = new BoundingVolumeHierarchy(mesh);
        var other = new BoundingVolumeHierarchy(shuffled);
        (Vector3 min, Vector3 max) = AwkwardMeshes.Bounds(mesh);
        var random = new Random(4);
        foreach (Vector3 origin in QueriesAround(mesh, seed: 5, count: 300))
        {
            Vector3 target = min + ((max - min) * new Vector3(random.NextSingle(), random.NextSingle(), random.NextSingle()));
            if (target == origin)
            {
                continue;
            }

            RayHit hit = hierarchy.CastRay(origin, target - origin);
            double truth = double.PositiveInfinity;
            for (int t = 0; t < mesh.TriangleCount; t++)
            {
                (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(t);
                truth = Math.Min(truth, RayParameter(origin, target - origin, a, b, c));
            }

            Assert.Equal(hit.IsHit, hierarchy.MeetsRay(origin, target - origin));
            RayHit second = other.CastRay(origin, target - origin);
            Assert.Equal((hit.Parameter, hit.Position), (second.Parameter, second.Position));

            // Möller-Trumbore isn't watertight: the two may differ, but only for rays that graze an edge.
            bool agree = hit.IsHit == double.IsFinite(truth)
                && (!hit.IsHit || Math.Abs(hit.Parameter - truth) <= 1e-9 * (1 + truth));
            Assert.True(agree || GrazesAnEdge(mesh, origin, target - origin), $"{hit.Parameter} for {truth}");
            if (hit.IsHit)
            {
                AssertOnSurface(mesh, hit.Point, hit.Position, 1e-6 * (Size(mesh) + origin.Length()));
                (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(hit.Point.Triangle);
                Assert.Equal(Vector3d.Dot(Normal(a, b, c), target - origin) < 0, hit.IsFrontFace);
            }
        }
    }

    [Fact]
    public void CastRay_from_inside_a_closed_mesh_always_hits()
    {
        // Through vertices and edges too: the test of a triangle is watertight.
        TriangleMesh mesh = Shapes.Lump(8);
        var hierarchy = new BoundingVolumeHierarchy(mesh);
        for (int i = 0; i < mesh.Indices.Length; i++)
        {
            Vector3 a = mesh.Positions[mesh.Indices[i]], b = mesh.Positions[mesh.Indices[i - (i % 3) + ((i + 1) % 3)]];
            var origin = new Vector3(0.01f * (i % 7), 0.02f * (i % 5), -0.03f * (i % 3));
            Assert.True(hierarchy.CastRay(origin, a - origin).IsHit);
            Assert.True(hierarchy.CastRay(origin, ((a + b) / 2) - origin).IsHit);
            Assert.False(hierarchy.CastRay(origin, a - origin).IsFrontFace);
        }
    }

    [Fact]
    public void CastRay_along_an_axis_hits_the_near_side_of_a_box()
    {
        var hierarchy = new BoundingVolumeHierarchy(Shapes.Box(new(-1), new(1)));
        RayHit hit = hierarchy.CastRay(new Vector3(0.25f, 0.125f, 5), new Vector3(0, 0, -2));
        Assert.Equal(2, hit.Parameter);
        Assert.Equal(new Vector3d(0.25, 0.125, 1), hit.Position);
        Assert.True(hit.IsFrontFace);
        Assert.False(hierarchy.CastRay(new Vector3(0.25f, 0.125f, 5), new Vector3(0, 0, -2), 1.9f).IsHit);
        Assert.False(hierarchy.CastRay(new Vector3(0.25f, 0.125f, 5), new Vector3(0, 0, 1)).IsHit);
        Assert.False(hierarchy.CastRay(Vector3.Zero, Vector3.UnitX).IsFrontFace);
    }

    [Fact]
    public void Refitted_tree_answers_like_one_built_anew()
    {
        var random = new Random(12);
        TriangleMesh mesh = Shapes.Join([Shapes.Box(new(-1), new(1)), Shapes.Box(new(-0.4f), new(0.7f))]);
        Quaternion turn = Quaternion.CreateFromYawPitchRoll(0.4f, -0.3f, 1.2f);
        TriangleMesh moved = mesh.WithPositions([.. mesh.Positions.ToArray().Select(p => Vector3.Transform(p, turn) + new Vector3(3, -1, 2))]);
        var anew = new BoundingVolumeHierarchy(moved);
        BoundingVolumeHierarchy refitted = new BoundingVolumeHierarchy(mesh).Refitted(moved);
        for (int i = 0; i < 200; i++)
        {
            Vector3 from = (Vector3)(Draw.Point(random) * 2) + new Vector3(3, -1, 2), along = (Vector3)Draw.Point(random);
            Assert.Equal(anew.ClosestPoint(from), refitted.ClosestPoint(from));
            Assert.Equal(anew.CastRay(from, along), refitted.CastRay(from, along));
        }

        Assert.Throws<ArgumentException>(() => refitted.Refitted(mesh.Subset([0, 1])));
    }

    [Fact]
    public void Deep_tree_gives_the_same_answers()
    {
        // Strips of triangles that shrink by half each time towards the origin: each cut takes one of them off, and each
        // node shows one strip in pieces beside all the smaller ones.
        var parts = new List<TriangleMesh>();
        for (int i = 0; i < 60; i++)
        {
            float s = MathF.Pow(0.5f, i);
            for (int k = 0; k < 60; k++)
            {
                float y = s * k / 60;
                parts.Add(new TriangleMesh([new(s, y, 0), new(s, y + (s / 60), 0), new(s, y, s * 0.1f)], [0, 1, 2]));
            }
        }

        TriangleMesh mesh = Shapes.Join([.. parts]);
        var hierarchy = new BoundingVolumeHierarchy(mesh);
        Assert.InRange(hierarchy.PendingItems, 129, 1000);
        for (int i = 0; i < 60; i += 2)
        {
            float x = MathF.Pow(0.5f, i);
            SurfaceProximity found = hierarchy.ClosestPoint(new Vector3(x, x * 0.502f, x * 0.01f));
            Assert.Equal((60 * i) + 30, found.Point.Triangle);
            Assert.Equal(0, found.Distance);
            RayHit hit = hierarchy.CastRay(new Vector3(x * 1.01f, x * 0.502f, x * 0.01f), new Vector3(-1, 0, 0));
            Assert.Equal((60 * i) + 30, hit.Point.Triangle);
        }
    }

    [Fact]
    public void Wide_boxes_equal_their_scalar_twin_to_the_last_bit()
    {
        var random = new Random(9);
        for (int round = 0; round < 200; round++)
        {
            WideNode node = default;
            int count = (round % WideNode.Width) + 1;
            for (int child = 0; child < count; child++)
            {
                Vector3 corner = (Vector3)Draw.Point(random);
                node.Add(corner, corner + new Vector3(random.NextSingle(), child == 0 ? 0 : random.NextSingle(), random.NextSingle()), ~child);
            }

            Vector3 query = (Vector3)(Draw.Point(random) * 1.5), inverse = Vector3.One / (Vector3)Draw.Point(random);
            float reach = random.NextSingle(), end = 3 * random.NextSingle();
            uint within = node.Within(query, reach, out Vector256<float> bounds), met = node.Met(query, inverse, end, out Vector256<float> entries);
            Assert.Equal(0u, (within | met) >> count);
            for (int child = 0; child < count; child++)
            {
                Assert.Equal(node.DistanceSquared(child, query), bounds[child]);
                Assert.Equal(node.DistanceSquared(child, query) <= reach, (within & (1u << child)) != 0);
                float entry = node.Entry(child, query, inverse);
                Assert.Equal(entry <= end, (met & (1u << child)) != 0);
                Assert.True(!(entry <= end) || entry == entries[child]);
            }
        }
    }

    [Fact]
    public void Empty_mesh_has_no_nearest_point_and_no_hit()
    {
        var hierarchy = new BoundingVolumeHierarchy(new TriangleMesh([], []));
        Assert.False(hierarchy.ClosestPoint(Vector3.Zero).IsFound);
        Assert.False(hierarchy.CastRay(Vector3.Zero, Vector3.UnitX).IsHit);
        Assert.False(hierarchy.MeetsRay(Vector3.Zero, Vector3.UnitX));
    }

    [Fact]
    public void Unusable_query_is_refused()
    {
        var hierarchy = new BoundingVolumeHierarchy(Shapes.Box(new(-1), new(1)));
        Assert.Throws<ArgumentException>(() => hierarchy.ClosestPoint(new Vector3(float.NaN, 0, 0)));
        Assert.Throws<ArgumentOutOfRangeException>(() => hierarchy.ClosestPoint(Vector3.Zero, -1));
        Assert.Throws<ArgumentException>(() => hierarchy.CastRay(Vector3.Zero, Vector3.Zero));
        Assert.Throws<ArgumentException>(() => hierarchy.ClosestPoint(new Vector3[2], new SurfaceProximity[1]));
    }

    private static IEnumerable<Vector3> QueriesAround(TriangleMesh mesh, int seed, int count)
    {
        (Vector3 min, Vector3 max) = AwkwardMeshes.Bounds(mesh);
        Vector3 middle = (min + max) / 2, size = max - min + new Vector3((max - min).Length() * 0.2f);
        var random = new Random(seed);
        yield return middle;
        for (int i = 0; i < count; i++)
        {
            int corner = random.Next(mesh.Indices.Length);
            Vector3 a = mesh.Positions[mesh.Indices[corner]];
            Vector3 b = mesh.Positions[mesh.Indices[corner - (corner % 3) + ((corner + 1) % 3)]];
            yield return (i % 4) switch
            {
                0 => a,
                1 => (a + b) / 2,
                _ => middle + (size * (new Vector3(random.NextSingle(), random.NextSingle(), random.NextSingle()) - new Vector3(0.5f))),
            };
        }
    }

    /// <summary>Distance to the plane where the foot lies inside all three edges, else to the nearest edge.</summary>
    private static double DistanceToTriangle(Vector3d q, Vector3d a, Vector3d b, Vector3d c)
    {
        Vector3d n = Normal(a, b, c);
        double edges = Math.Min(DistanceToSegment(q, a, b), Math.Min(DistanceToSegment(q, b, c), DistanceToSegment(q, c, a)));
        if (n == Vector3d.Zero)
        {
            return edges;
        }

        bool Inside(Vector3d from, Vector3d to) => Vector3d.Dot(Vector3d.Cross(to - from, q - from), n) >= 0;
        return Inside(a, b) && Inside(b, c) && Inside(c, a) ? Math.Min(edges, Math.Abs(Vector3d.Dot(n.Normalized(), q - a))) : edges;
    }

    private static double DistanceToSegment(Vector3d q, Vector3d a, Vector3d b)
    {
        double length2 = (b - a).LengthSquared;
        double t = length2 > 0 ? Math.Clamp(Vector3d.Dot(q - a, b - a) / length2, 0, 1) : 0;
        return Vector3d.Distance(q, Vector3d.Lerp(a, b, t));
    }

    /// <summary>Möller and Trumbore 1997.</summary>
    private static double RayParameter(Vector3d origin, Vector3d direction, Vector3d a, Vector3d b, Vector3d c)
    {
        Vector3d p = Vector3d.Cross(direction, c - a);
        double det = Vector3d.Dot(b - a, p);
        double u = Vector3d.Dot(origin - a, p) / det;
        Vector3d q = Vector3d.Cross(origin - a, b - a);
        double v = Vector3d.Dot(direction, q) / det;
        double t = Vector3d.Dot(c - a, q) / det;
        return det != 0 && u >= 0 && v >= 0 && u + v <= 1 && t >= 0 ? t : double.PositiveInfinity;
    }

    private static bool GrazesAnEdge(TriangleMesh mesh, Vector3d origin, Vector3d direction)
    {
        Vector3d d = direction.Normalized();
        double size = Size(mesh) + origin.Length;
        for (int i = 0; i < mesh.Indices.Length; i++)
        {
            Vector3d a = mesh.Positions[mesh.Indices[i]], b = mesh.Positions[mesh.Indices[i - (i % 3) + ((i + 1) % 3)]];
            Vector3d across = Vector3d.Cross(d, b - a);
            double distance = across.Length > 1e-12 * size
                ? Math.Abs(Vector3d.Dot(across.Normalized(), a - origin))
                : Vector3d.Cross(d, a - origin).Length;
            if (distance < 1e-10 * size)
            {
                return true;
            }
        }

        return false;
    }

    private static Vector3d Normal(Vector3d a, Vector3d b, Vector3d c) => Vector3d.Cross(b - a, c - a);

    private static double Size(TriangleMesh mesh)
    {
        (Vector3 min, Vector3 max) = AwkwardMeshes.Bounds(mesh);
        return (max - min).Length();
    }

    private static void AssertOnSurface(TriangleMesh mesh, SurfacePoint point, Vector3d position, double tolerance)
    {
        Vector3d w = point.Barycentric;
        Assert.InRange(Math.Min(w.X, Math.Min(w.Y, w.Z)), 0, 1);
        Assert.Equal(1, w.X + w.Y + w.Z, 1e-12);
        Assert.True(
            Vector3d.Distance(mesh.Position(point), position) <= tolerance,
            $"{Vector3d.Distance(mesh.Position(point), position)} off the surface");
    }

    private static Vector3[] SortedCorners(TriangleMesh mesh, int triangle)
    {
        (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(triangle);
        return [.. new[] { a, b, c }.OrderBy(p => p.X).ThenBy(p => p.Y).ThenBy(p => p.Z)];
    }
}
