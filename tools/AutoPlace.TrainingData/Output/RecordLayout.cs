using System.Text;
using System.Text.Json;

namespace AutoPlace.TrainingData.Output;

/// <summary>Where the fields of a record lie. Records have a fixed size, little endian, no header.</summary>
internal static class RecordLayout
{
    /// <summary>Pixels a side of the images.</summary>
    public const int ImageSize = 256;

    /// <summary>Cells a side of the dense labels.</summary>
    public const int CellSize = 64;

    /// <summary>Number of landmarks.</summary>
    public const int LandmarkCount = 63;

    private const int Pixels = ImageSize * ImageSize;
    private const int Cells = CellSize * CellSize;

    /// <summary>Offset of the depth image, uint16.</summary>
    public const int Depth = 0;

    /// <summary>Offset of the normal image, int8 xyz interleaved.</summary>
    public const int Normal = Depth + (2 * Pixels);

    /// <summary>Offset of the material border image, uint8.</summary>
    public const int Border = Normal + (3 * Pixels);

    /// <summary>Offset of the class cells, uint8.</summary>
    public const int Classes = Border + Pixels;

    /// <summary>Offset of the atlas cells, float16 xyz interleaved.</summary>
    public const int Atlas = Classes + Cells;

    /// <summary>Offset of the landmarks, float32 x px, y px, z over half size.</summary>
    public const int Landmarks = Atlas + (6 * Cells);

    /// <summary>Offset of the landmark flags, uint8.</summary>
    public const int Flags = Landmarks + (12 * LandmarkCount);

    /// <summary>Offset of the label of facing, uint8.</summary>
    public const int Facing = Flags + LandmarkCount;

    /// <summary>Offset of the kind, uint8.</summary>
    public const int Kind = Facing + 1;

    /// <summary>Offset of the crop, uint8.</summary>
    public const int Crop = Kind + 1;

    /// <summary>Offset of the head's number, int32, aligned.</summary>
    public const int Head = (Crop + 1 + 3) / 4 * 4;

    /// <summary>Offset of the yaw in degrees, float32.</summary>
    public const int Yaw = Head + 4;

    /// <summary>Offset of the pitch in degrees, float32.</summary>
    public const int Pitch = Yaw + 4;

    /// <summary>
    /// Offset of the head frame, float32: left, up and front as directions in view space, origin x px, y px and z over half
    /// size, interocular distance over half size; zeros where there is no head.
    /// </summary>
    public const int Frame = Pitch + 4;

    /// <summary>Numbers of the head frame.</summary>
    public const int FrameCount = 13;

    /// <summary>Size of a record, a multiple of 64.</summary>
    public const int RecordBytes = (Frame + (4 * FrameCount) + 63) / 64 * 64;

    /// <summary>All fields in order.</summary>
    public static IReadOnlyList<RecordField> Fields { get; } =
    [
        new("depth", "uint16", [ImageSize, ImageSize], Depth),
        new("normal", "int8", [ImageSize, ImageSize, 3], Normal),
        new("border", "uint8", [ImageSize, ImageSize], Border),
        new("classes", "uint8", [CellSize, CellSize], Classes),
        new("atlas", "float16", [CellSize, CellSize, 3], Atlas),
        new("landmarks", "float32", [LandmarkCount, 3], Landmarks),
        new("flags", "uint8", [LandmarkCount], Flags),
        new("facing", "uint8", [1], Facing),
        new("kind", "uint8", [1], Kind),
        new("crop", "uint8", [1], Crop),
        new("head", "int32", [1], Head),
        new("yaw", "float32", [1], Yaw),
        new("pitch", "float32", [1], Pitch),
        new("frame", "float32", [FrameCount], Frame),
    ];

    /// <summary>The layout as JSON: recordBytes and the fields' name, dtype, shape and offset.</summary>
    public static string ToJson()
    {
        using var stream = new MemoryStream();
        using (var json = new Utf8JsonWriter(stream, new JsonWriterOptions { Indented = true }))
        {
            json.WriteStartObject();
            json.WriteNumber("recordBytes", RecordBytes);
            json.WriteStartArray("fields");
            foreach (RecordField field in Fields)
            {
                json.WriteStartObject();
                json.WriteString("name", field.Name);
                json.WriteString("dtype", field.Dtype);
                json.WriteStartArray("shape");
                foreach (int n in field.Shape)
                {
                    json.WriteNumberValue(n);
                }

                json.WriteEndArray();
                json.WriteNumber("offset", field.Offset);
                json.WriteEndObject();
            }

            json.WriteEndArray();
            json.WriteEndObject();
        }

        return Encoding.UTF8.GetString(stream.ToArray());
    }
}

/// <summary>A field of a record.</summary>
/// <param name="Name">Its name.</param>
/// <param name="Dtype">Element type in NumPy's words.</param>
/// <param name="Shape">Its dimensions.</param>
/// <param name="Offset">Bytes from the record's start.</param>
internal sealed record RecordField(string Name, string Dtype, int[] Shape, int Offset);
