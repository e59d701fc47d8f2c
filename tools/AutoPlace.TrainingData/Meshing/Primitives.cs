using System.Numerics;
using AutoPlace.Landmarks;

namespace AutoPlace.TrainingData.Meshing;

/// <summary>What a primitive is made of.</summary>
/// <param name="Surface">Its class.</param>
/// <param name="Material">Its material.</param>
internal readonly record struct Stuff(SurfaceClass Surface, Material Material)
{
    /// <summary>Hair of any kind.</summary>
    public static Stuff Hair => new(SurfaceClass.OnHead, Material.Hair);

    /// <summary>Things worn on the head.</summary>
    public static Stuff Worn => new(SurfaceClass.OnHead, Material.Clothes);

    /// <summary>Clothes and body.</summary>
    public static Stuff Body => new(SurfaceClass.Other, Material.Clothes);
}

/// <summary>Closed surfaces appended to a mesh.</summary>
internal static class Primitives
{
    /// <summary>
    /// A superquadric (Barr 1981): ellipsoid at exponents (1, 1), rounded box near (0.3, 0.3), cylinder about Y at
    /// (0.3, 1). Returns the range of its vertices.
    /// </summary>
    /// <param name="mesh">Receives it.</param>
    /// <param name="centre">Its centre.</param>
    /// <param name="radii">Half axes before turning.</param>
    /// <param name="turn">Turns its axes.</param>
    /// <param name="exponents">East-west (X) and north-south (Y) exponents; 1 is round, towards 0 square.</param>
    /// <param name="rings">Rows of faces from pole to pole.</param>
    /// <param name="stuff">What it's made of.</param>
    public static Range Superquadric(
        WorkMesh mesh, Vector3 centre, Vector3 radii, Quaternion turn, Vector2 exponents, int rings, Stuff stuff)
    {
        int segments = 2 * rings, first = mesh.VertexCount;
        for (int ring = 0; ring <= rings; ring++)
        {
            (float sin, float cos) = MathF.SinCos((((float)ring / rings) - 0.5f) * MathF.PI);
            float height = Power(sin, exponents.Y), width = Power(cos, exponents.Y);
            int count = ring == 0 || ring == rings ? 1 : segments;
            for (int s = 0; s < count; s++)
            {
                (float sinAround, float cosAround) = MathF.SinCos(2 * MathF.PI * s / segments);
                var local = new Vector3(width * Power(cosAround, exponents.X), height, width * Power(sinAround, exponents.X));
                mesh.AddVertex(centre + Vector3.Transform(radii * local, turn));
            }
        }

        int Index(int ring, int s) => ring == 0 ? first : ring == rings
            ? first + 1 + ((rings - 1) * segments)
            : first + 1 + ((ring - 1) * segments) + (s % segments);
        for (int s = 0; s < segments; s++)
        {
            mesh.AddTriangle(Index(0, 0), Index(1, s), Index(1, s + 1), stuff.Surface, stuff.Material);
            for (int ring = 1; ring + 1 < rings; ring++)
            {
                mesh.AddQuad(
                    Index(ring, s), Index(ring + 1, s), Index(ring + 1, s + 1), Index(ring, s + 1), stuff.Surface, stuff.Material);
            }

            mesh.AddTriangle(Index(rings - 1, s), Index(rings, 0), Index(rings - 1, s + 1), stuff.Surface, stuff.Material);
        }

        return first..mesh.VertexCount;
    }

    /// <summary>An ellipsoid.</summary>
    public static Range Ellipsoid(WorkMesh mesh, Vector3 centre, Vector3 radii, Quaternion turn, int rings, Stuff stuff) =>
        Superquadric(mesh, centre, radii, turn, Vector2.One, rings, stuff);

    /// <summary>A tube along points, with elliptical cross-section; open ends are closed by fans.</summary>
    /// <param name="mesh">Receives it.</param>
    /// <param name="points">At least two points.</param>
    /// <param name="radii">Half axes at each point: along <paramref name="up"/>, and across.</param>
    /// <param name="up">Direction of the first half axis, not along the tube.</param>
    /// <param name="segments">Corners of the cross-section.</param>
    /// <param name="closed">Joins the last point to the first.</param>
    /// <param name="stuff">What it's made of.</param>
    public static void Tube(
        WorkMesh mesh, ReadOnlySpan<Vector3> points, ReadOnlySpan<Vector2> radii, Vector3 up, int segments, bool closed, Stuff stuff)
    {
        int first = mesh.VertexCount, count = points.Length;
        for (int i = 0; i < count; i++)
        {
            Vector3 before = points[i > 0 ? i - 1 : closed ? count - 1 : 0];
            Vector3 after = points[i + 1 < count ? i + 1 : closed ? 0 : count - 1];
            Vector3 across = Vector3.Cross(after - before, up);
            across = across.LengthSquared() > 1e-12f ? Vector3.Normalize(across) : Vector3.UnitX;
            Vector3 along = Vector3.Normalize(Vector3.Cross(across, after - before));
            for (int s = 0; s < segments; s++)
            {
                (float sin, float cos) = MathF.SinCos(2 * MathF.PI * s / segments);
                mesh.AddVertex(points[i] + (cos * radii[i].X * along) + (sin * radii[i].Y * across));
            }
        }

        int Index(int i, int s) => first + (i % count * segments) + (s % segments);
        for (int i = 0; i < (closed ? count : count - 1); i++)
        {
            for (int s = 0; s < segments; s++)
            {
                mesh.AddQuad(Index(i, s), Index(i + 1, s), Index(i + 1, s + 1), Index(i, s + 1), stuff.Surface, stuff.Material);
            }
        }

        for (int s = 1; !closed && s + 1 < segments; s++)
        {
            mesh.AddTriangle(Index(0, 0), Index(0, s), Index(0, s + 1), stuff.Surface, stuff.Material);
            mesh.AddTriangle(Index(count - 1, 0), Index(count - 1, s + 1), Index(count - 1, s), stuff.Surface, stuff.Material);
        }
    }

    private static float Power(float value, float exponent) =>
        exponent == 1 ? value : MathF.CopySign(MathF.Pow(MathF.Abs(value), exponent), value);
}
