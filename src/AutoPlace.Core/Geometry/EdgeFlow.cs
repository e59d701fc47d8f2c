using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>
/// Which way the quads of a skin run: around a point the mean of their two directions, which count alike in either sense,
/// as a field of crosses (Palacios and Zhang 2007, "Rotational symmetry field design on surfaces", section 3; from memory).
/// Faces that are no quads run nowhere.
/// </summary>
public sealed class EdgeFlow
{
    /// <summary>Radii within which faces are gathered, interocular distances; the first in which there are enough counts.</summary>
    private static readonly double[] Radii = [0.06, 0.12, 0.24];

    private const int Enough = 6;

    /// <summary>Cosine of the angle to the normal from which on a face lies on another sheet.</summary>
    private const double OtherSheet = 0.5;

    private readonly Dictionary<(int X, int Y, int Z), List<Face>> _cells = [];

    /// <summary>Gathers the faces of a skin.</summary>
    /// <param name="polygons">Polygons as modelled.</param>
    /// <param name="positions">Positions of their vertices, interocular distances.</param>
    /// <param name="skinVertices">The vertices that belong to the skin.</param>
    public EdgeFlow(PolygonMesh polygons, ReadOnlySpan<Vector3> positions, ReadOnlySpan<int> skinVertices)
    {
        bool[] isSkin = new bool[polygons.VertexCount];
        foreach (int v in skinVertices)
        {
            isSkin[v] = true;
        }

        for (int f = 0; f < polygons.FaceCount; f++)
        {
            ReadOnlySpan<int> corners = polygons.Face(f);
            bool within = true;
            Vector3 centre = default;
            foreach (int v in corners)
            {
                within &= isSkin[v];
                centre += positions[v] / corners.Length;
            }

            if (within)
            {
                (int, int, int) cell = Cell(centre);
                if (!_cells.TryGetValue(cell, out List<Face>? faces))
                {
                    _cells[cell] = faces = [];
                }

                faces.Add(Face.Of(corners, centre, positions));
            }
        }
    }

    /// <summary>How a direction lies to the flow around a point of the skin.</summary>
    /// <param name="at">The point, interocular distances.</param>
    /// <param name="normal">Unit normal of the skin there.</param>
    /// <param name="direction">A direction along the skin.</param>
    /// <returns>
    /// By how much the direction has to turn about the normal to follow the nearer of the two directions, radians, at most
    /// half a right angle either way; and how much the faces agree on it, 0 to 1. Zeros for a direction along the normal, or
    /// where there are few faces. Linear in the faces around.
    /// </returns>
    public (double Turn, double Agreement) At(Vector3d at, Vector3d normal, Vector3d direction)
    {
        Vector3d x = (direction - (normal * Vector3d.Dot(direction, normal))).Normalized(), y = Vector3d.Cross(normal, x);
        if (x == Vector3d.Zero)
        {
            return (0, 0);
        }

        foreach (double radius in Radii)
        {
            (double cosine, double sine, double total, int count) = (0, 0, 0, 0);
            foreach (Face face in Near((Vector3)at, (float)radius))
            {
                double facing = Vector3d.Dot(face.Normal, normal);
                if (facing < OtherSheet)
                {
                    continue;
                }

                double weight = facing * WendlandKernel.At(Vector3d.Distance(face.Centre, at) / radius);
                (total, count) = (total + weight, count + 1);
                foreach (Vector3 way in (ReadOnlySpan<Vector3>)[face.First, face.Second])
                {
                    double angle = 4 * Math.Atan2(Vector3d.Dot(way, y), Vector3d.Dot(way, x));
                    double share = way == Vector3.Zero ? 0 : weight / 2;
                    (cosine, sine) = (cosine + (share * Math.Cos(angle)), sine + (share * Math.Sin(angle)));
                }
            }

            if (count >= Enough)
            {
                return (Math.Atan2(sine, cosine) / 4, Math.Sqrt((cosine * cosine) + (sine * sine)) / total);
            }
        }

        return (0, 0);
    }

    /// <summary>How the way from one point of the skin to another lies to the flow between them (<see cref="At"/>).</summary>
    /// <param name="from">A point, interocular distances.</param>
    /// <param name="to">Another.</param>
    /// <param name="normal">Unit normal of the skin between them.</param>
    public (double Turn, double Agreement) Between(Vector3d from, Vector3d to, Vector3d normal) => At((from + to) * 0.5, normal, to - from);

    private IEnumerable<Face> Near(Vector3 at, float radius)
    {
        ((int x0, int y0, int z0), (int x1, int y1, int z1)) = (Cell(at - new Vector3(radius)), Cell(at + new Vector3(radius)));
        for (int x = x0; x <= x1; x++)
        {
            for (int y = y0; y <= y1; y++)
            {
                for (int z = z0; z <= z1; z++)
                {
                    foreach (Face face in _cells.GetValueOrDefault((x, y, z)) ?? [])
                    {
                        if (Vector3.DistanceSquared(face.Centre, at) < radius * radius)
                        {
                            yield return face;
                        }
                    }
                }
            }
        }
    }

    private static (int X, int Y, int Z) Cell(Vector3 p)
    {
        float size = (float)Radii[0];
        return ((int)MathF.Floor(p.X / size), (int)MathF.Floor(p.Y / size), (int)MathF.Floor(p.Z / size));
    }

    // Directions are those between the middles of opposite edges; zero for a face that is no quad.
    private readonly record struct Face(Vector3 Centre, Vector3 Normal, Vector3 First, Vector3 Second)
    {
        public static Face Of(ReadOnlySpan<int> corners, Vector3 centre, ReadOnlySpan<Vector3> positions)
        {
            Vector3 cross = default;
            for (int k = 0; k < corners.Length; k++)
            {
                cross += Vector3.Cross(positions[corners[k]] - centre, positions[corners[(k + 1) % corners.Length]] - centre);
            }

            Vector3 normal = cross == default ? Vector3.UnitZ : Vector3.Normalize(cross);
            if (corners.Length != 4)
            {
                return new Face(centre, normal, default, default);
            }

            (Vector3 a, Vector3 b, Vector3 c, Vector3 d) = (positions[corners[0]], positions[corners[1]], positions[corners[2]], positions[corners[3]]);
            return new Face(centre, normal, b + c - a - d, c + d - a - b);
        }
    }
}
