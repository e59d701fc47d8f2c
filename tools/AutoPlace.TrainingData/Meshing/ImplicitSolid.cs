using System.Numerics;

namespace AutoPlace.TrainingData.Meshing;

/// <summary>
/// A solid put together from rounded pieces that grow into one another, and from which others are carved. Its surface is
/// meshed over a grid (surface nets, Gibson 1998). Reused from solid to solid; one for each thread.
/// </summary>
internal sealed class ImplicitSolid
{
    private readonly List<Piece> _pieces = [];
    private float[] _values = [];
    private int[] _vertices = [];

    private enum Form
    {
        Ellipsoid,
        Box,
        Cone,
        Cylinder,
        Torus,
    }

    /// <summary>How far pieces added from now on grow into what is there, units of the solid; 0 for sharp edges.</summary>
    public float Blend { get; set; }

    /// <summary>Whether pieces from now on are carved out.</summary>
    public bool Carving { get; set; }

    /// <summary>Begins a new solid.</summary>
    public void Clear()
    {
        _pieces.Clear();
        Blend = 0;
        Carving = false;
    }

    /// <summary>An ellipsoid of the given half axes.</summary>
    public void Ellipsoid(Vector3 centre, Vector3 radii, Quaternion turn) =>
        Add(Form.Ellipsoid, centre, turn, radii, MathF.Max(radii.X, MathF.Max(radii.Y, radii.Z)));

    /// <summary>A ball.</summary>
    public void Ball(Vector3 centre, float radius) => Ellipsoid(centre, new(radius), Quaternion.Identity);

    /// <summary>A box of the given half sides.</summary>
    public void Box(Vector3 centre, Vector3 half, Quaternion turn) => Add(Form.Box, centre, turn, half, half.Length());

    /// <summary>A cylinder about its own Y.</summary>
    public void Cylinder(Vector3 centre, float radius, float halfHeight, Quaternion turn) =>
        Add(Form.Cylinder, centre, turn, new(radius, halfHeight, 0), MathF.Sqrt((radius * radius) + (halfHeight * halfHeight)));

    /// <summary>A ring about its own Y.</summary>
    public void Torus(Vector3 centre, float ring, float tube, Quaternion turn) =>
        Add(Form.Torus, centre, turn, new(ring, tube, 0), ring + tube);

    /// <summary>A rounded cone from one point to another.</summary>
    public void Cone(Vector3 from, Vector3 to, float fromRadius, float toRadius)
    {
        Vector3 half = (to - from) / 2;
        _pieces.Add(new(Form.Cone, from + half, Quaternion.Identity, half, fromRadius, toRadius, half.Length() + MathF.Max(fromRadius, toRadius), Blend, Carving));
    }

    /// <summary>Meshes the solid.</summary>
    /// <param name="mesh">Receives it.</param>
    /// <param name="cells">Cells along its longest side.</param>
    /// <param name="stuff">What it's made of.</param>
    public void Append(WorkMesh mesh, int cells, Stuff stuff)
    {
        (Vector3 low, Vector3 high) = Bounds();
        Vector3 extent = high - low;
        float step = MathF.Max(extent.X, MathF.Max(extent.Y, extent.Z)) / cells;
        if (!(step > 0))
        {
            return;
        }

        low -= new Vector3(1.5f * step);
        (int nx, int ny, int nz) = ((int)(extent.X / step) + 5, (int)(extent.Y / step) + 5, (int)(extent.Z / step) + 5);
        int count = nx * ny * nz;
        if (_values.Length < count)
        {
            (_values, _vertices) = (new float[count], new int[count]);
        }

        for (int k = 0, i = 0; k < nz; k++)
        {
            for (int j = 0; j < ny; j++)
            {
                for (int x = 0; x < nx; x++, i++)
                {
                    _values[i] = Distance(low + (step * new Vector3(x, j, k)));
                }
            }
        }

        Span<int> steps = [1, nx, nx * ny];
        AddVertices(mesh, new Lattice(nx, ny, nz, low, step), steps);
        AddFaces(mesh, new Lattice(nx, ny, nz, low, step), steps, stuff);
    }

    // One vertex in each cell through which the surface runs: the mean of where it crosses the cell's edges.
    private void AddVertices(WorkMesh mesh, in Lattice lattice, ReadOnlySpan<int> steps)
    {
        for (int k = 0; k + 1 < lattice.Z; k++)
        {
            for (int j = 0; j + 1 < lattice.Y; j++)
            {
                for (int i = 0; i + 1 < lattice.X; i++)
                {
                    int cell = i + (j * steps[1]) + (k * steps[2]);
                    (Vector3 sum, int crossings) = (Vector3.Zero, 0);
                    for (int axis = 0; axis < 3; axis++)
                    {
                        for (int corner = 0; corner < 4; corner++)
                        {
                            int u = (axis + 1) % 3, v = (axis + 2) % 3;
                            int from = cell + ((corner & 1) * steps[u]) + ((corner >> 1) * steps[v]);
                            float a = _values[from], b = _values[from + steps[axis]];
                            if (a < 0 != b < 0)
                            {
                                Vector3 at = default;
                                at[axis] = a / (a - b);
                                at[u] = corner & 1;
                                at[v] = corner >> 1;
                                (sum, crossings) = (sum + at, crossings + 1);
                            }
                        }
                    }

                    _vertices[cell] = crossings > 0
                        ? mesh.AddVertex(lattice.Low + (lattice.Step * (new Vector3(i, j, k) + (sum / crossings))))
                        : -1;
                }
            }
        }
    }

    // A face around each grid edge that the surface crosses.
    private void AddFaces(WorkMesh mesh, in Lattice lattice, ReadOnlySpan<int> steps, Stuff stuff)
    {
        for (int k = 1; k + 1 < lattice.Z; k++)
        {
            for (int j = 1; j + 1 < lattice.Y; j++)
            {
                for (int i = 1; i + 1 < lattice.X; i++)
                {
                    int at = i + (j * steps[1]) + (k * steps[2]);
                    for (int axis = 0; axis < 3; axis++)
                    {
                        bool inside = _values[at] < 0;
                        if (inside == _values[at + steps[axis]] < 0)
                        {
                            continue;
                        }

                        int u = steps[(axis + 1) % 3], v = steps[(axis + 2) % 3];
                        (int a, int b, int c, int d) = (_vertices[at - u - v], _vertices[at - v], _vertices[at], _vertices[at - u]);
                        if (inside)
                        {
                            mesh.AddQuad(a, b, c, d, stuff.Surface, stuff.Material);
                        }
                        else
                        {
                            mesh.AddQuad(d, c, b, a, stuff.Surface, stuff.Material);
                        }
                    }
                }
            }
        }
    }

    private void Add(Form form, Vector3 centre, Quaternion turn, Vector3 size, float reach) =>
        _pieces.Add(new(form, centre, Quaternion.Conjugate(turn), size, 0, 0, reach, Blend, Carving));

    private (Vector3 Low, Vector3 High) Bounds()
    {
        var low = new Vector3(float.PositiveInfinity);
        var high = new Vector3(float.NegativeInfinity);
        foreach (Piece piece in _pieces)
        {
            if (!piece.Carved)
            {
                low = Vector3.Min(low, piece.Centre - new Vector3(piece.Reach + (0.25f * piece.Blend)));
                high = Vector3.Max(high, piece.Centre + new Vector3(piece.Reach + (0.25f * piece.Blend)));
            }
        }

        return (low, high);
    }

    private float Distance(Vector3 p)
    {
        float distance = float.PositiveInfinity;
        foreach (Piece piece in _pieces)
        {
            float own = piece.Distance(p), blend = piece.Blend;
            if (piece.Carved)
            {
                distance = -Joined(-distance, own, blend);
            }
            else
            {
                distance = float.IsFinite(distance) ? Joined(distance, own, blend) : own;
            }
        }

        return distance;
    }

    // The smaller one, rounded off by a parabola where both are about equal.
    private static float Joined(float a, float b, float blend)
    {
        float overlap = blend > 0 ? MathF.Max(blend - MathF.Abs(a - b), 0) : 0;
        return MathF.Min(a, b) - (overlap > 0 ? overlap * overlap / (4 * blend) : 0);
    }

    private readonly record struct Lattice(int X, int Y, int Z, Vector3 Low, float Step);

    private readonly record struct Piece(
        Form Form, Vector3 Centre, Quaternion Back, Vector3 Size, float FromRadius, float ToRadius, float Reach, float Blend, bool Carved)
    {
        // Signed distance, negative inside; for ellipsoids to first order.
        public float Distance(Vector3 p)
        {
            Vector3 q = p - Centre;
            if (Form == Form.Cone)
            {
                float t = Math.Clamp(Vector3.Dot(q, Size) / MathF.Max(Size.LengthSquared(), 1e-12f), -1, 1);
                return (q - (t * Size)).Length() - FromRadius - ((ToRadius - FromRadius) * (t + 1) / 2);
            }

            q = Back.IsIdentity ? q : Vector3.Transform(q, Back);
            switch (Form)
            {
                case Form.Ellipsoid:
                    float ratio = (q / Size).Length();
                    return ratio * (ratio - 1) / MathF.Max((q / (Size * Size)).Length(), 1e-6f);
                case Form.Box:
                    Vector3 beyond = Vector3.Abs(q) - Size;
                    return Vector3.Max(beyond, Vector3.Zero).Length() + MathF.Min(MathF.Max(beyond.X, MathF.Max(beyond.Y, beyond.Z)), 0);
                case Form.Cylinder:
                    float outward = MathF.Sqrt((q.X * q.X) + (q.Z * q.Z)) - Size.X, above = MathF.Abs(q.Y) - Size.Y;
                    float corner = new Vector2(MathF.Max(outward, 0), MathF.Max(above, 0)).Length();
                    return corner + MathF.Min(MathF.Max(outward, above), 0);
                default:
                    return new Vector2(MathF.Sqrt((q.X * q.X) + (q.Z * q.Z)) - Size.X, q.Y).Length() - Size.Y;
            }
        }
    }
}
