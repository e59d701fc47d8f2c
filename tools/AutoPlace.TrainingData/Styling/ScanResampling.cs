using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Rendering;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>
/// Takes a head as a scanner does: one surface of square faces over a grid of angles and heights (or a depth image from
/// the front), on which eyes, lids, hair and clothes have grown together.
/// </summary>
internal sealed class ScanResampling
{
    private const float LandmarkSlackCm = 0.3f;
    private readonly List<VisibilityBuffer> _buffers = [];

    /// <summary>Replaces the mesh of one in fourteen heads.</summary>
    public void Apply(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        if (!random.Chance(0.07f))
        {
            return;
        }

        float unit = Vector3.Distance(draft.Landmark("eye_centre_left"), draft.Landmark("eye_centre_right"));
        bool round = random.Chance(0.7f);
        int columns = random.Whole(6, 28) * 8;
        float half = unit * random.Uniform(1.7f, 2.3f), reach = random.Uniform(1.7f, 3.1f);
        Vector3 middle = (draft.Landmark("eye_centre_left") + draft.Landmark("eye_centre_right")) / 2;
        float axis = draft.Landmark("tragion_left").Z + (unit * random.Uniform(-0.2f, 0.25f));
        var grid = new Grid(round, round ? half / reach : 1, middle with { X = 0, Y = middle.Y - (0.5f * unit), Z = round ? axis : middle.Z }, half, columns);
        VisibilityBuffer seen = BufferOf(columns);
        Rasterizer.Rasterize(Unrolled(draft.Mesh, grid), grid.View, seen);
        int smoothing = random.Chance(0.5f) ? random.Whole(1, 2) : 0;
        float[] rough = seen.Z.ToArray();
        Smooth(seen, smoothing);
        float step = 2 * half / columns;
        Rebuild(draft.Mesh, seen, rough, grid, MathF.Max(unit * random.Uniform(0.15f, 0.5f), 4 * step));
        MarkLandmarks(draft, seen, grid);
        draft.Coarseness += (0.5f + (0.3f * smoothing)) * step;
        draft.Flat = random.Chance(0.1f);
    }

    private VisibilityBuffer BufferOf(int size)
    {
        VisibilityBuffer? buffer = _buffers.Find(b => b.Size == size);
        if (buffer is null)
        {
            buffer = new VisibilityBuffer(size);
            _buffers.Add(buffer);
        }

        buffer.Clear();
        return buffer;
    }

    // In grid coordinates; triangles across the seam at the back are left out.
    private static TriangleMesh Unrolled(WorkMesh mesh, Grid grid)
    {
        var positions = new Vector3[mesh.VertexCount];
        for (int v = 0; v < positions.Length; v++)
        {
            positions[v] = grid.To(mesh.Positions[v]);
        }

        int[] indices = mesh.Indices.ToArray();
        for (int t = 0; t < indices.Length; t += 3)
        {
            float a = positions[indices[t]].X, b = positions[indices[t + 1]].X, c = positions[indices[t + 2]].X;
            if (MathF.Max(a, MathF.Max(b, c)) - MathF.Min(a, MathF.Min(b, c)) > grid.SeamWidth)
            {
                indices[t + 1] = indices[t];
                indices[t + 2] = indices[t];
            }
        }

        return new TriangleMesh(positions, indices);
    }

    // Averages heights over neighbours that were seen.
    private static void Smooth(VisibilityBuffer seen, int rounds)
    {
        int size = seen.Size;
        float[] next = new float[size * size];
        for (int round = 0; round < rounds; round++)
        {
            Span<float> z = seen.Z;
            for (int i = 0; i < next.Length; i++)
            {
                (float sum, int count) = (z[i], 1);
                void Add(Span<float> all, bool inside, int other)
                {
                    if (inside && all[other] > float.NegativeInfinity && MathF.Abs(all[other] - all[i]) < 1)
                    {
                        (sum, count) = (sum + all[other], count + 1);
                    }
                }

                Add(z, i % size > 0, i - 1);
                Add(z, i % size < size - 1, i + 1);
                Add(z, i >= size, i - size);
                Add(z, i < next.Length - size, i + size);
                next[i] = sum / count;
            }

            next.CopyTo(z);
        }
    }

    // Points are those of the triangles seen, moved along the ray by what smoothing did.
    private static void Rebuild(WorkMesh mesh, VisibilityBuffer seen, float[] rough, Grid grid, float jump)
    {
        int size = seen.Size;
        Span<int> triangles = seen.Triangles, indices = mesh.Indices;
        var positions = new Vector3[size * size];
        var atlas = new Vector3[size * size];
        var surfaces = new SurfaceClass[size * size];
        var materials = new Material[size * size];
        for (int i = 0; i < positions.Length; i++)
        {
            if (triangles[i] < 0)
            {
                continue;
            }

            int t = triangles[i];
            (float b, float c) = (seen.WeightB[i], seen.WeightC[i]);
            Vector3 Mix(Span<Vector3> all, Span<int> corners) =>
                ((1 - b - c) * all[corners[0]]) + (b * all[corners[1]]) + (c * all[corners[2]]);
            Vector3 before = grid.View.Unproject((i % size) + 0.5f, (i / size) + 0.5f, rough[i]);
            Vector3 moved = grid.From(before with { Z = seen.Z[i] }) - grid.From(before);
            positions[i] = Mix(mesh.Positions, indices.Slice(3 * t, 3)) + moved;
            atlas[i] = Mix(mesh.Atlas, indices.Slice(3 * t, 3));
            surfaces[i] = mesh.Classes[t];
            materials[i] = mesh.Materials[t];
        }

        mesh.Clear();
        for (int i = 0; i < positions.Length; i++)
        {
            mesh.AddVertex(positions[i], atlas[i]);
        }

        for (int y = 0; y + 1 < size; y++)
        {
            for (int x = 0; x + 1 < size; x++)
            {
                int a = (y * size) + x, b = a + size, c = b + 1, d = a + 1;
                if (triangles[a] < 0 || triangles[b] < 0 || triangles[c] < 0 || triangles[d] < 0)
                {
                    continue;
                }

                ReadOnlySpan<float> heights = [seen.Z[a], seen.Z[b], seen.Z[c], seen.Z[d]];
                (float low, float high) = (heights[0], heights[0]);
                foreach (float h in heights)
                {
                    (low, high) = (MathF.Min(low, h), MathF.Max(high, h));
                }

                if (high - low < jump)
                {
                    mesh.AddQuad(a, b, c, d, Common(surfaces[a], surfaces[b], surfaces[c], surfaces[d]), materials[a]);
                }
            }
        }
    }

    // Skin and eyeballs carry atlas points, other surfaces don't: a face between them counts as the other surface.
    private static SurfaceClass Common(SurfaceClass a, SurfaceClass b, SurfaceClass c, SurfaceClass d)
    {
        foreach (SurfaceClass s in (ReadOnlySpan<SurfaceClass>)[a, b, c, d])
        {
            if (s is not (SurfaceClass.HeadSkin or SurfaceClass.Eyeball))
            {
                return s;
            }
        }

        return a;
    }

    // What the scanner didn't reach is gone; what it saw something else in front of can still be told.
    private static void MarkLandmarks(HeadDraft draft, VisibilityBuffer seen, Grid grid)
    {
        int size = seen.Size;
        for (int i = 0; i < draft.Landmarks.Length; i++)
        {
            if (draft.States[i] == LandmarkState.Absent || LandmarkNames.All[i].StartsWith("eye_centre", StringComparison.Ordinal))
            {
                continue;
            }

            Vector3 p = grid.View.Project(grid.To(draft.Landmarks[i]));
            bool inside = p.X >= 1 && p.Y >= 1 && p.X < size - 1 && p.Y < size - 1;
            int cell = inside ? ((int)p.Y * size) + (int)p.X : 0;
            if (!inside || seen.Triangles[cell] < 0)
            {
                draft.States[i] = LandmarkState.Absent;
            }
            else if (seen.Z[cell] > p.Z + LandmarkSlackCm + draft.Coarseness)
            {
                draft.States[i] = LandmarkState.Implied;
            }
        }
    }

    // Angle times radius, height and distance from the axis; or, from the front, the plain coordinates.
    private readonly record struct Grid(bool Round, float Radius, Vector3 Origin, float HalfSize, int Size)
    {
        public OrthographicView View => new(Vector3.Zero, Vector3.UnitX, Vector3.UnitY, Vector3.UnitZ, HalfSize, Size);

        public float SeamWidth => Round ? MathF.PI * Radius : float.PositiveInfinity;

        public Vector3 To(Vector3 p)
        {
            Vector3 d = p - Origin;
            return Round ? new(MathF.Atan2(d.X, d.Z) * Radius, d.Y, MathF.Sqrt((d.X * d.X) + (d.Z * d.Z))) : d;
        }

        public Vector3 From(Vector3 q)
        {
            (float sin, float cos) = MathF.SinCos(q.X / Radius);
            return Origin + (Round ? new Vector3(sin * q.Z, q.Y, cos * q.Z) : q);
        }
    }
}
