using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Rendering;

namespace AutoPlace.Landmarks;

/// <summary>
/// The outer skin of a head: triangles of pieces that the network takes for skin, as far as they can be seen from
/// some side. The inside of the mouth, the back of the lids and skin under hair are left out by that.
/// </summary>
public static class SkinExtraction
{
    /// <summary>A piece is skin when at least this share of what is seen of it is taken for skin; a body that hangs together with its head has a small share.</summary>
    private const double SkinShare = 0.3;

    /// <summary>Rings of triangles around what is seen that count as seen: triangles smaller than a pixel.</summary>
    private const int SeenRings = 2;

    private static readonly (float Yaw, float Pitch)[] Directions =
        [(80, 0), (-80, 0), (0, -45), (50, -40), (-50, -40), (0, 50), (130, 10), (-130, 10), (180, 0)];

    /// <summary>Which components are skin.</summary>
    /// <param name="observations">Views and what the network says of them.</param>
    /// <param name="triangleComponents">T component ids.</param>
    /// <param name="componentCount">Number of components.</param>
    /// <returns>For each component whether it is skin; all of them when none would be.</returns>
    public static bool[] SkinComponents(
        IReadOnlyList<ViewObservation> observations, ReadOnlySpan<int> triangleComponents, int componentCount)
    {
        ArgumentNullException.ThrowIfNull(observations);
        double[] skin = new double[componentCount];
        double[] seen = new double[componentCount];
        foreach (ViewObservation o in observations)
        {
            DenseMap map = o.Prediction.Dense;
            int step = o.Buffer.Size / map.Size;
            for (int cell = 0; cell < map.Size * map.Size; cell++)
            {
                int pixel = ((((cell / map.Size) * step) + (step / 2)) * o.Buffer.Size) + ((cell % map.Size) * step) + (step / 2);
                int triangle = o.Buffer.Triangles[pixel];
                if (triangle != VisibilityBuffer.Background)
                {
                    int component = triangleComponents[triangle];
                    skin[component] += map.ClassProbability(cell, SurfaceClass.HeadSkin);
                    seen[component] += 1;
                }
            }
        }

        bool[] isSkin = new bool[componentCount];
        for (int c = 0; c < componentCount; c++)
        {
            isSkin[c] = seen[c] >= 3 && skin[c] >= SkinShare * seen[c];
        }

        if (!isSkin.Contains(true))
        {
            Array.Fill(isSkin, true);
        }

        return isSkin;
    }

    /// <summary>Which components are wound inside out: more of their pixels show the back of a triangle than the front.</summary>
    /// <param name="mesh">The scan, file coordinates.</param>
    /// <param name="observations">Views of it.</param>
    /// <param name="triangleComponents">T component ids.</param>
    /// <param name="componentCount">Number of components.</param>
    public static bool[] InsideOut(
        TriangleMesh mesh, IReadOnlyList<ViewObservation> observations, ReadOnlySpan<int> triangleComponents, int componentCount)
    {
        ArgumentNullException.ThrowIfNull(mesh);
        ArgumentNullException.ThrowIfNull(observations);
        int[] front = new int[componentCount];
        foreach (ViewObservation o in observations)
        {
            // One row of three says enough.
            for (int y = 1; y < o.Buffer.Size; y += 3)
            {
                foreach (int triangle in o.Buffer.Triangles.Slice(y * o.Buffer.Size, o.Buffer.Size))
                {
                    if (triangle != VisibilityBuffer.Background)
                    {
                        (Vector3 a, Vector3 b, Vector3 c) = mesh.Corners(triangle);
                        front[triangleComponents[triangle]] += Math.Sign(Vector3.Dot(Vector3.Cross(b - a, c - a), o.FileView.Toward));
                    }
                }
            }
        }

        return Array.ConvertAll(front, f => f < 0);
    }

    /// <summary>The visible triangles of the skin.</summary>
    /// <param name="headMesh">The whole scan, head frame.</param>
    /// <param name="observations">Views already drawn.</param>
    /// <param name="triangleIsSkin">T flags.</param>
    /// <returns>Indices of the triangles, rising; all skin triangles when none is seen.</returns>
    public static int[] OuterTriangles(
        TriangleMesh headMesh, IReadOnlyList<ViewObservation> observations, bool[] triangleIsSkin)
    {
        ArgumentNullException.ThrowIfNull(headMesh);
        ArgumentNullException.ThrowIfNull(observations);
        ArgumentNullException.ThrowIfNull(triangleIsSkin);
        bool[] visible = new bool[headMesh.TriangleCount];
        foreach (ViewObservation o in observations)
        {
            Mark(o.Buffer, visible);
        }

        Parallel.ForEach(Directions, () => new VisibilityBuffer(ViewRing.InputSize), (direction, _, buffer) =>
        {
            (float yaw, float pitch) = direction;
            buffer.Clear();
            Rasterizer.Rasterize(
                headMesh, OrthographicView.Around(ViewRing.WholeCentre, yaw, pitch, ViewRing.WholeHalfSize, buffer.Size), buffer);
            Mark(buffer, visible);
            return buffer;
        }, _ => { });
        Grow(headMesh, triangleIsSkin, visible);
        int[] outer = [.. Enumerable.Range(0, visible.Length).Where(t => visible[t] && triangleIsSkin[t])];
        return outer.Length > 0 ? outer : [.. Enumerable.Range(0, visible.Length).Where(t => triangleIsSkin[t])];
    }

    private static void Mark(VisibilityBuffer buffer, bool[] visible)
    {
        foreach (int triangle in buffer.Triangles)
        {
            if (triangle != VisibilityBuffer.Background)
            {
                visible[triangle] = true;
            }
        }
    }

    private static void Grow(TriangleMesh mesh, bool[] triangleIsSkin, bool[] visible)
    {
        bool[] vertex = new bool[mesh.VertexCount];
        ReadOnlySpan<int> indices = mesh.Indices;
        for (int ring = 0; ring < SeenRings; ring++)
        {
            for (int t = 0; t < visible.Length; t++)
            {
                if (visible[t] && triangleIsSkin[t])
                {
                    vertex[indices[3 * t]] = vertex[indices[(3 * t) + 1]] = vertex[indices[(3 * t) + 2]] = true;
                }
            }

            for (int t = 0; t < visible.Length; t++)
            {
                visible[t] |= vertex[indices[3 * t]] || vertex[indices[(3 * t) + 1]] || vertex[indices[(3 * t) + 2]];
            }
        }
    }
}
