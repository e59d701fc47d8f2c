using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.TrainingData.Meshing;

/// <summary>Layers over the skin: hair, beards, caps.</summary>
internal sealed class SkinShell
{
    private readonly float[] _thickness;
    private readonly int[] _copies;
    private readonly Vector3[] _normals;

    /// <summary>Prepares buffers.</summary>
    public SkinShell(MorphableModel model)
    {
        _thickness = new float[model.VertexCount];
        _copies = new int[model.VertexCount];
        _normals = new Vector3[model.VertexCount];
    }

    /// <summary>Appends a layer that floats over the skin.</summary>
    /// <param name="draft">The head.</param>
    /// <param name="thicknessOf">Thickness in centimetres at a vertex by its index; zero or less: no layer there.</param>
    /// <param name="pull">Added to the lifted position, times thickness: lets beards hang.</param>
    /// <param name="stuff">What it's made of.</param>
    public void Append(HeadDraft draft, Func<int, float> thicknessOf, Vector3 pull, Stuff stuff)
    {
        int end = Measure(draft, thicknessOf);
        for (int v = 0; v < end; v++)
        {
            _copies[v] = _thickness[v] > 0
                ? draft.Mesh.AddVertex(draft.Shape[v] + (_thickness[v] * (_normals[v] + pull)))
                : -1;
        }

        AppendCopies(draft, end, stuff);
    }

    /// <summary>Appends a second skin that lies within or a little above the first and shows the same atlas points.</summary>
    /// <param name="draft">The head.</param>
    /// <param name="weightOf">Weight of a vertex by its index; zero or less: no second skin there.</param>
    /// <param name="lift">Height above the skin at full weight, centimetres; may be negative.</param>
    public void AppendSkin(HeadDraft draft, Func<int, float> weightOf, float lift)
    {
        MorphableModel model = draft.Model;
        int end = Measure(draft, weightOf);
        for (int v = 0; v < end; v++)
        {
            _copies[v] = _thickness[v] > 0
                ? draft.Mesh.AddVertex(draft.Shape[v] + (lift * MathF.Min(1, _thickness[v]) * _normals[v]), model.Atlas[v])
                : -1;
        }

        AppendCopies(draft, end, new Stuff(SurfaceClass.HeadSkin, Material.Skin));
    }

    /// <summary>Lifts the skin itself and marks it as hair.</summary>
    /// <param name="draft">The head, not assembled yet.</param>
    /// <param name="thicknessOf">As for <see cref="Append"/>.</param>
    public void Displace(HeadDraft draft, Func<int, float> thicknessOf)
    {
        int end = Measure(draft, thicknessOf);
        for (int v = 0; v < end; v++)
        {
            if (_thickness[v] > 0)
            {
                draft.Shape[v] += _thickness[v] * _normals[v];
                draft.Haired[v] = true;
            }
        }
    }

    private void AppendCopies(HeadDraft draft, int end, Stuff stuff)
    {
        int[] triangles = draft.Model.Triangles;
        for (int t = 0; t < triangles.Length; t += 3)
        {
            (int a, int b, int c) = (triangles[t], triangles[t + 1], triangles[t + 2]);
            if (a < end && b < end && c < end && _copies[a] >= 0 && _copies[b] >= 0 && _copies[c] >= 0)
            {
                draft.Mesh.AddTriangle(_copies[a], _copies[b], _copies[c], stuff.Surface, stuff.Material);
            }
        }
    }

    // Thickness and unit normals of all skin vertices; returns the end of their range.
    private int Measure(HeadDraft draft, Func<int, float> thicknessOf)
    {
        MorphableModel model = draft.Model;
        int end = model.Layout.Range(Part.Scalp, model.VertexCount).End;
        for (int v = 0; v < end; v++)
        {
            _thickness[v] = thicknessOf(v);
        }

        SkinNormals(draft, end, _normals);
        return end;
    }

    /// <summary>Area-weighted unit normals of skin vertices below <paramref name="end"/>.</summary>
    public static void SkinNormals(HeadDraft draft, int end, Span<Vector3> normals)
    {
        int[] triangles = draft.Model.Triangles;
        Vector3[] shape = draft.Shape;
        normals[..end].Clear();
        for (int t = 0; t < triangles.Length; t += 3)
        {
            (int a, int b, int c) = (triangles[t], triangles[t + 1], triangles[t + 2]);
            if (a < end && b < end && c < end)
            {
                Vector3 cross = Vector3.Cross(shape[b] - shape[a], shape[c] - shape[a]);
                normals[a] += cross;
                normals[b] += cross;
                normals[c] += cross;
            }
        }

        for (int v = 0; v < end; v++)
        {
            float length = normals[v].Length();
            normals[v] = length > 0 ? normals[v] / length : Vector3.UnitZ;
        }
    }
}
