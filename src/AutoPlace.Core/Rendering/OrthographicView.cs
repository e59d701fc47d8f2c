using System.Numerics;

namespace AutoPlace.Rendering;

/// <summary>
/// A square orthographic view. View space is right-handed: x to the right of the image, y up, z towards the viewer;
/// in the frontal view of a head that is the head frame itself, so the subject's left is at the right of the image.
/// Pixel coordinates are continuous, (0, 0) at the upper left corner, pixel centres at +0.5.
/// </summary>
/// <param name="Centre">Point that the image's centre shows, in the mesh's frame.</param>
/// <param name="Right">Unit vector to the right of the image, in the mesh's frame.</param>
/// <param name="Up">Unit vector up the image.</param>
/// <param name="Toward">Unit vector towards the viewer; right x up.</param>
/// <param name="HalfSize">Half the side of the square that the image shows, in the mesh's unit.</param>
/// <param name="Size">Width and height of the image in pixels.</param>
public readonly record struct OrthographicView(Vector3 Centre, Vector3 Right, Vector3 Up, Vector3 Toward, float HalfSize, int Size)
{
    /// <summary>Pixels for each unit of length.</summary>
    public float PixelsPerUnit => Size / (2 * HalfSize);

    /// <summary>
    /// View of a mesh in the head frame from a direction given by yaw and pitch.
    /// </summary>
    /// <param name="centre">Point in the middle of the image, head frame.</param>
    /// <param name="yawDegrees">Positive: the viewer moves to the subject's left (+90 shows the left profile).</param>
    /// <param name="pitchDegrees">Positive: the viewer moves up and looks down.</param>
    /// <param name="halfSize">Half the side of the square shown.</param>
    /// <param name="size">Pixels a side.</param>
    public static OrthographicView Around(Vector3 centre, float yawDegrees, float pitchDegrees, float halfSize, int size)
    {
        (float sinYaw, float cosYaw) = MathF.SinCos(yawDegrees * MathF.PI / 180);
        (float sinPitch, float cosPitch) = MathF.SinCos(pitchDegrees * MathF.PI / 180);
        var toward = new Vector3(sinYaw * cosPitch, sinPitch, cosYaw * cosPitch);
        var right = new Vector3(cosYaw, 0, -sinYaw);
        var up = new Vector3(-sinYaw * sinPitch, cosPitch, -cosYaw * sinPitch);
        return new(centre, right, up, toward, halfSize, size);
    }

    /// <summary>View that shows all of a mesh and its surroundings, however it is turned about its middle.</summary>
    /// <param name="positions">The mesh's vertices, at least one.</param>
    /// <param name="up">Unit vector up the image.</param>
    /// <param name="toward">Unit vector towards the viewer, at right angles to <paramref name="up"/>.</param>
    /// <param name="margin">Side of the image over the largest extent along the view's axes.</param>
    /// <param name="size">Pixels a side.</param>
    public static OrthographicView ShowingAll(ReadOnlySpan<Vector3> positions, Vector3 up, Vector3 toward, float margin, int size)
    {
        var right = Vector3.Cross(up, toward);
        (Vector3 low, Vector3 high) = (new(float.PositiveInfinity), new(float.NegativeInfinity));
        foreach (Vector3 p in positions)
        {
            var seen = new Vector3(Vector3.Dot(p, right), Vector3.Dot(p, up), Vector3.Dot(p, toward));
            (low, high) = (Vector3.Min(low, seen), Vector3.Max(high, seen));
        }

        Vector3 middle = (low + high) / 2, extent = high - low;
        float half = margin * MathF.Max(extent.X, MathF.Max(extent.Y, extent.Z)) / 2;
        return new((right * middle.X) + (up * middle.Y) + (toward * middle.Z), right, up, toward, MathF.Max(half, float.Epsilon), size);
    }

    /// <summary>Pixel coordinates (x right, y down) and view depth (z towards the viewer, relative to the centre).</summary>
    public Vector3 Project(Vector3 point)
    {
        Vector3 d = point - Centre;
        float half = Size * 0.5f;
        return new(
            half + (Vector3.Dot(d, Right) * PixelsPerUnit),
            half - (Vector3.Dot(d, Up) * PixelsPerUnit),
            Vector3.Dot(d, Toward));
    }

    /// <summary>The point with the given pixel coordinates and view depth, in the mesh's frame.</summary>
    public Vector3 Unproject(float pixelX, float pixelY, float z)
    {
        float half = Size * 0.5f;
        return Centre
            + (Right * ((pixelX - half) / PixelsPerUnit))
            + (Up * ((half - pixelY) / PixelsPerUnit))
            + (Toward * z);
    }

    /// <summary>The same view with another number of pixels.</summary>
    public OrthographicView WithSize(int size) => this with { Size = size };
}
