using System.Buffers.Binary;
using System.Numerics;
using System.Runtime.InteropServices;
using AutoPlace.Landmarks;
using AutoPlace.Rendering;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Output;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Annotation;

/// <summary>Renders a view of a head and writes images and labels into a record. One for each thread.</summary>
internal sealed class ViewRecorder
{
    private const int Size = RecordLayout.ImageSize;
    private const int Cells = RecordLayout.CellSize;
    private readonly VisibilityBuffer _image = new(Size);
    private readonly VisibilityBuffer _cells = new(Cells);

    /// <summary>Writes one record.</summary>
    /// <param name="head">The head.</param>
    /// <param name="sampled">The view.</param>
    /// <param name="record">Receives <see cref="RecordLayout.RecordBytes"/> bytes.</param>
    public void Write(HeadSample head, in SampledView sampled, Span<byte> record)
    {
        record.Clear();
        OrthographicView view = sampled.View;
        _image.Clear();
        Rasterizer.Rasterize(head.Mesh, view, _image);
        _cells.Clear();
        Rasterizer.Rasterize(head.Mesh, view.WithSize(Cells), _cells);
        WriteImages(head, view, record);
        WriteBorder(head, record.Slice(RecordLayout.Border, Size * Size));
        bool negative = head.Kind == HeadKind.NonHead || sampled.WrongFrame;
        WriteCells(head, !negative, record);
        if (!negative)
        {
            WriteLandmarks(head, view, record);
            WriteFrame(view, record);
        }

        record[RecordLayout.Facing] = (byte)(sampled.Facing && !negative ? 1 : 0);
        record[RecordLayout.Kind] = (byte)(sampled.WrongFrame && head.Kind != HeadKind.NonHead ? HeadKind.WrongFrame : head.Kind);
        record[RecordLayout.Crop] = (byte)(sampled.Close ? 1 : 0);
        BinaryPrimitives.WriteInt32LittleEndian(record[RecordLayout.Head..], head.Number);
        BinaryPrimitives.WriteSingleLittleEndian(record[RecordLayout.Yaw..], sampled.YawDegrees);
        BinaryPrimitives.WriteSingleLittleEndian(record[RecordLayout.Pitch..], sampled.PitchDegrees);
    }

    private void WriteImages(HeadSample head, in OrthographicView view, Span<byte> record)
    {
        Span<ushort> depth = MemoryMarshal.Cast<byte, ushort>(record.Slice(RecordLayout.Depth, 2 * Size * Size));
        Span<sbyte> normals = MemoryMarshal.Cast<byte, sbyte>(record.Slice(RecordLayout.Normal, 3 * Size * Size));
        ReadOnlySpan<int> triangles = _image.Triangles, indices = head.Mesh.Indices;
        ReadOnlySpan<float> z = _image.Z, weightB = _image.WeightB, weightC = _image.WeightC;
        float inverseHalfSize = 1 / view.HalfSize;
        for (int i = 0; i < triangles.Length; i++)
        {
            int t = triangles[i];
            if (t < 0)
            {
                continue;
            }

            depth[i] = EncodeDepth(z[i] * inverseHalfSize);
            Vector3 n = head.Flat
                ? head.Normals[t]
                : (head.Normals[indices[3 * t]] * (1 - weightB[i] - weightC[i]))
                    + (head.Normals[indices[(3 * t) + 1]] * weightB[i])
                    + (head.Normals[indices[(3 * t) + 2]] * weightC[i]);
            float scale = 127 / Math.Max(n.Length(), 1e-12f);
            float nz = Vector3.Dot(n, view.Toward);
            scale = nz < 0 ? -scale : scale;
            normals[3 * i] = (sbyte)MathF.Round(scale * Vector3.Dot(n, view.Right));
            normals[(3 * i) + 1] = (sbyte)MathF.Round(scale * Vector3.Dot(n, view.Up));
            normals[(3 * i) + 2] = (sbyte)MathF.Round(scale * nz);
        }
    }

    /// <summary>0 stays free for background.</summary>
    internal static ushort EncodeDepth(float depth) =>
        (ushort)(1 + (int)MathF.Round((Math.Clamp(depth, -2, 2) + 2) * (65534f / 4)));

    private void WriteBorder(HeadSample head, Span<byte> border)
    {
        ReadOnlySpan<int> triangles = _image.Triangles;
        for (int i = 0; i < triangles.Length; i++)
        {
            if (triangles[i] < 0)
            {
                continue;
            }

            Material own = head.Materials[triangles[i]];
            bool right = (i + 1) % Size != 0 && triangles[i + 1] >= 0 && head.Materials[triangles[i + 1]] != own;
            bool below = i + Size < triangles.Length && triangles[i + Size] >= 0 && head.Materials[triangles[i + Size]] != own;
            border[i] = (byte)(right || below ? 1 : 0);
        }
    }

    private void WriteCells(HeadSample head, bool withAtlas, Span<byte> record)
    {
        Span<Half> atlas = MemoryMarshal.Cast<byte, Half>(record.Slice(RecordLayout.Atlas, 6 * Cells * Cells));
        ReadOnlySpan<int> triangles = _cells.Triangles, indices = head.Mesh.Indices;
        ReadOnlySpan<float> weightB = _cells.WeightB, weightC = _cells.WeightC;
        for (int i = 0; i < triangles.Length; i++)
        {
            int t = triangles[i];
            if (t < 0)
            {
                continue;
            }

            SurfaceClass surface = head.Classes[t];
            record[RecordLayout.Classes + i] = (byte)surface;
            if (withAtlas && surface is SurfaceClass.HeadSkin or SurfaceClass.Eyeball)
            {
                Vector3 point = (head.Atlas[indices[3 * t]] * (1 - weightB[i] - weightC[i]))
                    + (head.Atlas[indices[(3 * t) + 1]] * weightB[i])
                    + (head.Atlas[indices[(3 * t) + 2]] * weightC[i]);
                atlas[3 * i] = (Half)point.X;
                atlas[(3 * i) + 1] = (Half)point.Y;
                atlas[(3 * i) + 2] = (Half)point.Z;
            }
        }
    }

    private void WriteLandmarks(HeadSample head, in OrthographicView view, Span<byte> record)
    {
        Span<float> values = MemoryMarshal.Cast<byte, float>(record.Slice(RecordLayout.Landmarks, 12 * RecordLayout.LandmarkCount));
        for (int i = 0; i < head.Landmarks.Length; i++)
        {
            if (head.States[i] == LandmarkState.Absent)
            {
                continue;
            }

            Vector3 p = view.Project(head.Landmarks[i]);
            values[3 * i] = p.X;
            values[(3 * i) + 1] = p.Y;
            values[(3 * i) + 2] = p.Z / view.HalfSize;

            // Outside the image no heat map can show it, so there it counts as absent.
            bool inside = p.X >= 0 && p.Y >= 0 && p.X < Size && p.Y < Size;
            bool visible = inside && head.States[i] == LandmarkState.Modelled && IsVisible(p, head.Tolerance[i]);
            record[RecordLayout.Flags + i] = (byte)((inside ? 1 : 0) | (visible ? 2 : 0));
        }
    }

    // The head frame's axes are those of the mesh, its unit is the interocular distance.
    private static void WriteFrame(in OrthographicView view, Span<byte> record)
    {
        (Vector3 x, Vector3 y, Vector3 z, Vector3 origin) = (view.Right, view.Up, view.Toward, view.Project(Vector3.Zero));
        ReadOnlySpan<float> frame =
        [
            x.X, y.X, z.X, x.Y, y.Y, z.Y, x.Z, y.Z, z.Z, origin.X, origin.Y, origin.Z / view.HalfSize, 1 / view.HalfSize,
        ];
        MemoryMarshal.AsBytes(frame).CopyTo(record[RecordLayout.Frame..]);
    }

    // At a silhouette the point's own pixel may show something in front: a third of the neighbourhood is enough.
    private bool IsVisible(Vector3 p, float tolerance)
    {
        const int Enough = 3;
        ReadOnlySpan<float> z = _image.Z;
        int open = 0;
        for (int y = Math.Max(0, (int)p.Y - 1); y <= Math.Min(Size - 1, (int)p.Y + 1); y++)
        {
            for (int x = Math.Max(0, (int)p.X - 1); x <= Math.Min(Size - 1, (int)p.X + 1); x++)
            {
                open += z[(y * Size) + x] <= p.Z + tolerance ? 1 : 0;
            }
        }

        return open >= Enough;
    }
}
