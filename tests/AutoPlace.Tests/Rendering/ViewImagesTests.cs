using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Rendering;
using CsCheck;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.Formats;
using SixLabors.ImageSharp.PixelFormats;
using Xunit;

namespace AutoPlace.Tests.Rendering;

public sealed class ViewImagesTests
{
    private static readonly OrthographicView View = OrthographicView.Around(new(0, 0.1f, -0.2f), 30, 10, 1.6f, 64);

    private static readonly TriangleMesh Mesh = Shapes.Ellipsoid(new(1.1f, 1.3f, 0.9f), 24);

    [Fact]
    public void Depth_file_gives_back_the_depth_to_half_a_step()
    {
        VisibilityBuffer buffer = Drawn();
        using var stream = new MemoryStream();
        ViewImages.WriteDepth(buffer, View, stream);
        stream.Position = 0;
        using Image<L16> image = Image.Load<L16>(stream, out IImageFormat format);
        Assert.Equal("PNG", format.Name);
        Assert.Equal((64, 64), (image.Width, image.Height));
        const float halfStep = (1.6f / 32767) + 1e-6f; // and single-precision rounding
        for (int pixel = 0; pixel < buffer.Z.Length; pixel++)
        {
            ushort code = image[pixel % 64, pixel / 64].PackedValue;
            Assert.Equal(buffer.Triangles[pixel] == VisibilityBuffer.Background, code == 0);
            if (code != 0)
            {
                Assert.Equal(buffer.Z[pixel], ViewImages.DepthOf(code, View.HalfSize), halfStep);
            }
        }
    }

    [Fact]
    public void Depth_file_has_sixteen_bits_of_grey()
    {
        using var stream = new MemoryStream();
        ViewImages.WriteDepth(Drawn(), View, stream);

        // IHDR is the first chunk: after signature, length, type, width and height come bit depth and colour type
        // (W3C, Portable Network Graphics, section 11.2.2; 0 is greyscale).
        byte[] bytes = stream.ToArray();
        Assert.Equal(16, bytes[24]);
        Assert.Equal(0, bytes[25]);
    }

    [Fact]
    public void Depth_codes_rise_with_depth_and_leave_zero_to_the_background()
    {
        Gen.Select(Gen.Float[-3, 3], Gen.Float[-3, 3], Gen.Float[0.5f, 3]).Sample((a, b, half) =>
            (a <= b) == (ViewImages.DepthCode(a * half, half) <= ViewImages.DepthCode(b * half, half))
            || MathF.Abs(a - b) < 1e-4f || (MathF.Abs(a) >= 2 && MathF.Abs(b) >= 2));
        Assert.Equal(1, ViewImages.DepthCode(-100, 1));
        Assert.Equal(65535, ViewImages.DepthCode(100, 1));
        Assert.Equal(0, ViewImages.DepthCode(float.NegativeInfinity, 1));
    }

    [Fact]
    public void Normal_file_gives_back_the_normals()
    {
        VisibilityBuffer buffer = Drawn();
        Vector3[] vertexNormals = VertexNormals.AngleWeighted(Mesh);
        var normals = new Vector3[64 * 64];
        ViewNormals.Write(buffer, View, Mesh, vertexNormals, normals);
        using var stream = new MemoryStream();
        ViewImages.WriteNormals(buffer, View, Mesh, vertexNormals, stream);
        stream.Position = 0;
        using Image<Rgb24> image = Image.Load<Rgb24>(stream);
        for (int pixel = 0; pixel < normals.Length; pixel++)
        {
            Rgb24 code = image[pixel % 64, pixel / 64];
            if (normals[pixel] == Vector3.Zero)
            {
                Assert.Equal(default, code);
                continue;
            }

            Vector3 decoded = (new Vector3(code.R, code.G, code.B) / 127.5f) - Vector3.One;
            Assert.True(Vector3.Distance(normals[pixel], decoded) < 0.008f, $"{normals[pixel]} came back as {decoded}");
        }
    }

    [Fact]
    public void Another_size_is_refused()
    {
        using var stream = new MemoryStream();
        Assert.Throws<ArgumentException>("buffer", () => ViewImages.WriteDepth(Drawn(), View.WithSize(65), stream));
        Assert.Equal(0, stream.Length);
    }

    private static VisibilityBuffer Drawn()
    {
        var buffer = new VisibilityBuffer(View.Size);
        Rasterizer.Rasterize(Mesh, View, buffer);
        return buffer;
    }
}
