using System.Buffers.Binary;
using System.Numerics;
using System.Runtime.InteropServices;
using SharpGLTF.Schema2;

namespace AutoPlace.Import;

/// <summary>Reads numbers of glTF accessors (glTF 2.0, section 3.6.2) with every range checked against the bytes there are.</summary>
internal static class GltfAccessorData
{
    private const int VectorBytes = 3 * sizeof(float);

    /// <summary>Vectors of three components; integers are normalised if the accessor says so. Sparse ones are resolved.</summary>
    public static Vector3[] Vectors(MeshSource source, Accessor accessor)
    {
        if (accessor.Encoding == EncodingType.FLOAT && !accessor.IsSparse && BitConverter.IsLittleEndian)
        {
            ReadOnlySpan<byte> bytes = Bytes(source, accessor, DimensionType.VEC3, VectorBytes, out int stride);
            if (stride == VectorBytes)
            {
                return MemoryMarshal.Cast<byte, Vector3>(bytes).ToArray();
            }
        }

        float[] numbers = Numbers(source, accessor, DimensionType.VEC3, 3);
        var vectors = new Vector3[numbers.Length / 3];
        for (int i = 0; i < vectors.Length; i++)
        {
            vectors[i] = new Vector3(numbers[3 * i], numbers[(3 * i) + 1], numbers[(3 * i) + 2]);
        }

        return vectors;
    }

    /// <summary>Weights or joint indices, four to a vertex.</summary>
    public static float[] Quadruples(MeshSource source, Accessor accessor) =>
        Numbers(source, accessor, DimensionType.VEC4, 4);

    /// <summary>Adds weighted displacements of a morph target.</summary>
    /// <param name="source">For messages.</param>
    /// <param name="accessor">Displacements; may be sparse without a base.</param>
    /// <param name="weight">Factor.</param>
    /// <param name="positions">Changed in place.</param>
    public static void AddDisplacements(MeshSource source, Accessor accessor, float weight, Span<Vector3> positions)
    {
        if (accessor.Count != positions.Length)
        {
            throw source.Fault(Name(accessor), $"{accessor.Count} displacements for {positions.Length} vertices");
        }

        IReadOnlyList<Vector3> displacements = accessor.IsSparse
            ? GltfDocument.Guarded(source, Name(accessor), () => (IReadOnlyList<Vector3>)[.. accessor.AsVector3Array()])
            : Vectors(source, accessor);
        for (int v = 0; v < positions.Length; v++)
        {
            positions[v] += weight * displacements[v];
        }
    }

    /// <summary>Unsigned integers.</summary>
    public static uint[] Indices(MeshSource source, Accessor accessor)
    {
        int size = accessor.Encoding switch
        {
            EncodingType.UNSIGNED_BYTE => 1,
            EncodingType.UNSIGNED_SHORT => 2,
            EncodingType.UNSIGNED_INT => 4,
            _ => throw source.Fault(Name(accessor), $"indices of type {accessor.Encoding}"),
        };
        ReadOnlySpan<byte> bytes = Bytes(source, accessor, DimensionType.SCALAR, size, out int stride);
        if (size == sizeof(uint) && stride == size && BitConverter.IsLittleEndian)
        {
            return MemoryMarshal.Cast<byte, uint>(bytes).ToArray();
        }

        uint[] indices = new uint[accessor.Count];
        for (int i = 0; i < indices.Length; i++)
        {
            ReadOnlySpan<byte> item = bytes.Slice(i * stride, size);
            indices[i] = size switch
            {
                1 => item[0],
                2 => BinaryPrimitives.ReadUInt16LittleEndian(item),
                _ => BinaryPrimitives.ReadUInt32LittleEndian(item),
            };
        }

        return indices;
    }

    /// <summary>Name of an accessor in messages.</summary>
    public static string Name(Accessor accessor) => $"accessor {accessor.LogicalIndex}";

    private static float[] Numbers(MeshSource source, Accessor accessor, DimensionType dimensions, int components)
    {
        int size = ComponentBytes(source, accessor);
        ReadOnlySpan<byte> bytes = Bytes(source, accessor, dimensions, components * size, out int stride);
        float[] numbers = new float[checked(accessor.Count * components)];
        for (int i = 0; i < accessor.Count; i++)
        {
            for (int c = 0; c < components; c++)
            {
                numbers[(i * components) + c] = Number(accessor, bytes[((i * stride) + (c * size))..]);
            }
        }

        if (accessor.IsSparse)
        {
            OverwriteSparse(source, accessor, components, numbers);
        }

        return numbers;
    }

    private static void OverwriteSparse(MeshSource source, Accessor accessor, int components, float[] numbers)
    {
        GltfDocument.Guarded(source, Name(accessor), () =>
        {
            IReadOnlyList<float[]> rows = components == 3
                ? [.. accessor.AsVector3Array().Select(v => new[] { v.X, v.Y, v.Z })]
                : [.. accessor.AsVector4Array().Select(v => new[] { v.X, v.Y, v.Z, v.W })];
            for (int i = 0; i < rows.Count; i++)
            {
                rows[i].CopyTo(numbers, i * components);
            }

            return rows.Count;
        });
    }

    private static int ComponentBytes(MeshSource source, Accessor accessor) => accessor.Encoding switch
    {
        EncodingType.BYTE or EncodingType.UNSIGNED_BYTE => 1,
        EncodingType.SHORT or EncodingType.UNSIGNED_SHORT => 2,
        EncodingType.FLOAT => 4,
        _ => throw source.Fault(Name(accessor), $"numbers of type {accessor.Encoding}"),
    };

    private static float Number(Accessor accessor, ReadOnlySpan<byte> bytes) => (accessor.Encoding, accessor.Normalized) switch
    {
        (EncodingType.FLOAT, _) => BinaryPrimitives.ReadSingleLittleEndian(bytes),
        (EncodingType.BYTE, false) => (sbyte)bytes[0],
        (EncodingType.BYTE, true) => Math.Max((sbyte)bytes[0] / 127f, -1),
        (EncodingType.UNSIGNED_BYTE, false) => bytes[0],
        (EncodingType.UNSIGNED_BYTE, true) => bytes[0] / 255f,
        (EncodingType.SHORT, false) => BinaryPrimitives.ReadInt16LittleEndian(bytes),
        (EncodingType.SHORT, true) => Math.Max(BinaryPrimitives.ReadInt16LittleEndian(bytes) / 32767f, -1),
        (_, false) => BinaryPrimitives.ReadUInt16LittleEndian(bytes),
        _ => BinaryPrimitives.ReadUInt16LittleEndian(bytes) / 65535f,
    };

    /// <summary>The accessor's own bytes, from its first to its last item.</summary>
    private static ReadOnlySpan<byte> Bytes(
        MeshSource source, Accessor accessor, DimensionType dimensions, int itemBytes, out int stride)
    {
        if (accessor.Dimensions != dimensions)
        {
            throw source.Fault(Name(accessor), $"type {accessor.Dimensions} where {dimensions} should be");
        }

        BufferView view = GltfDocument.Guarded(source, Name(accessor), () => accessor.SourceBufferView)
            ?? throw source.Fault(Name(accessor), "has no buffer view");
        ArraySegment<byte> content = GltfDocument.Guarded(source, $"buffer view {view.LogicalIndex}", () => view.Content);
        stride = view.ByteStride == 0 ? itemBytes : view.ByteStride;
        long needed = accessor.Count <= 0 ? 0 : accessor.ByteOffset + ((accessor.Count - 1L) * stride) + itemBytes;
        if (stride < itemBytes || accessor.Count < 0 || accessor.ByteOffset < 0 || needed > content.Count)
        {
            throw source.Fault(
                Name(accessor),
                $"{accessor.Count} items of {itemBytes} bytes every {stride} from byte {accessor.ByteOffset} "
                    + $"don't fit the {content.Count} bytes of buffer view {view.LogicalIndex}");
        }

        return needed == 0 ? [] : content.AsSpan(accessor.ByteOffset, (int)(needed - accessor.ByteOffset));
    }
}
