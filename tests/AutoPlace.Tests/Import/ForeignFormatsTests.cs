using System.Buffers.Binary;
using System.Text;
using AutoPlace.Import;
using Xunit;

namespace AutoPlace.Tests.Import;

public sealed class ForeignFormatsTests
{
    [Theory]
    [InlineData("Kaydara FBX Binary  \0\x1A\0", "head.fbx", "FBX (binary)")]
    [InlineData("; FBX 7.7.0 project file\n", "head.fbx", "FBX (text)")]
    [InlineData("; FBX 7.7.0 project file\n", "head.obj", "FBX (text)")]
    [InlineData("#usda 1.0\n(\n)\n", "head.usda", "USDA")]
    [InlineData("PXR-USDC\0\0\0", "head.usd", "USDC")]
    [InlineData("PK\u0003\u0004\0\0", "head.usdz", "USDZ")]
    [InlineData("PK\u0003\u0004\0\0", "head.zip", "ZIP")]
    [InlineData("PK\u0003\u0004\0\0", "head.glb", "ZIP")]
    [InlineData("PK\u0003\u0004\0\0", "head.zae", "ZAE (COLLADA)")]
    [InlineData("<?xml version=\"1.0\"?>\n<COLLADA version=\"1.4.1\">", "head.dae", "DAE (COLLADA)")]
    [InlineData("<html></html>", "head.obj", "XML")]
    [InlineData("BLENDER-v300", "head.blend", "BLEND")]
    [InlineData("Ogawa\u0001\0", "head.abc", "ABC (Alembic)")]
    [InlineData("//Maya ASCII 2024 scene\n", "head.ma", "MA")]
    [InlineData("FOR8\0\0\0\0", "head.mb", "MB")]
    [InlineData("#Inventor V2.0 binary", "head.iv", "Inventor")]
    [InlineData("#VRML V2.0 utf8\n", "head.wrl", "VRML")]
    [InlineData("DRACO\u0002\u0002", "head.drc", "DRC (Draco)")]
    [InlineData("something else", "head.fbx", "FBX")]
    [InlineData("something else", "HEAD.DAE", "DAE (COLLADA)")]
    [InlineData("\0\0\0\u0001", "head.max", "MAX")]
    public void Foreign_formats_are_refused_by_name_with_advice(string content, string name, string format)
    {
        var fault = Assert.Throws<MeshFormatException>(() => TestMeshes.Read(Encoding.Latin1.GetBytes(content), name));

        Assert.Equal(name, fault.File);
        Assert.Null(fault.Element);
        Assert.Equal($"{format} can't be read; export glTF (.glb) instead", fault.Reason);
    }

    [Fact]
    public void A_main_chunk_as_long_as_the_file_is_3DS()
    {
        byte[] bytes = new byte[100];
        bytes[0] = bytes[1] = 0x4D;
        BinaryPrimitives.WriteInt32LittleEndian(bytes.AsSpan(2), bytes.Length);

        Assert.StartsWith("3DS ", Reason(bytes, "head.dat"), StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("", "head.obj", "the file is empty")]
    [InlineData("  \n\n# nothing\n", "head.obj", "the file holds nothing but blanks and comments")]
    [InlineData("hello world", "head.txt", "not a glTF, OBJ, PLY, STL or OFF file")]
    [InlineData("hello world", "head", "not a glTF, OBJ, PLY, STL or OFF file")]
    [InlineData("hello world", "head.glb", "the file doesn't begin with 'glTF'")]
    [InlineData("hello world", "head.gltf", "the file isn't JSON")]
    [InlineData("hello world", "head.ply", "the file doesn't begin with 'ply'")]
    [InlineData("hello world", "head.obj", "no faces")]
    [InlineData("\u007FELF\0\0\0\0", "head.obj", "binary content where text should be")]
    [InlineData("\u007FELF\0\0\0\0", "head.off", "binary content where text should be")]
    [InlineData("\u007FELF\0\0\0\0", "head.glb", "the file doesn't begin with 'glTF'")]
    public void Content_that_fits_no_format_is_refused(string content, string name, string reason) =>
        Assert.Equal(reason, Reason(Encoding.Latin1.GetBytes(content), name));

    [Fact]
    public void Files_that_cannot_be_opened_say_why()
    {
        string folder = Directory.CreateTempSubdirectory("autoplace-import-").FullName;
        try
        {
            string missing = Path.Combine(folder, "missing.glb");
            var fault = Assert.Throws<MeshFormatException>(() => MeshReader.Read(missing));
            Assert.Equal(missing, fault.File);
            Assert.IsType<FileNotFoundException>(fault.InnerException);
            Assert.Equal("is a folder", Assert.Throws<MeshFormatException>(() => MeshReader.Read(folder)).Reason);
            Assert.IsType<DirectoryNotFoundException>(
                Assert.Throws<MeshFormatException>(() => MeshReader.Read(Path.Combine(missing, "head.obj"))).InnerException);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    [Fact]
    public void Streams_that_fail_say_why()
    {
        using var stream = new FailingStream(MeshText.Obj(TestMeshes.Sphere(40, 40)));

        Assert.Equal("the cable is out", Assert.Throws<MeshFormatException>(() => MeshReader.Read(stream, "head.obj")).Reason);
    }

    [Fact]
    public void Streams_need_not_be_seekable()
    {
        byte[] bytes = MeshText.Obj(TestMeshes.Sphere(300, 300));
        using var source = new MemoryStream(bytes);
        using var stream = new BufferedOnce(source);
        HeadScan scan = MeshReader.Read(stream, "head.obj");

        Assert.Equal(Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(bytes)), scan.Sha256);
        Assert.Equal(299 * 300 + 2, scan.Mesh.VertexCount);
    }

    private static string Reason(byte[] bytes, string name) =>
        Assert.Throws<MeshFormatException>(() => TestMeshes.Read(bytes, name)).Reason;

    private sealed class FailingStream(byte[] bytes) : MemoryStream(bytes)
    {
        public override int Read(byte[] buffer, int offset, int count) =>
            Position > 0 ? throw new IOException("the cable is out") : base.Read(buffer, offset, Math.Min(count, 100));
    }

    /// <summary>Gives a few bytes at a time and has no length.</summary>
    private sealed class BufferedOnce(Stream inner) : Stream
    {
        public override bool CanRead => true;

        public override bool CanSeek => false;

        public override bool CanWrite => false;

        public override long Length => throw new NotSupportedException();

        public override long Position
        {
            get => throw new NotSupportedException();
            set => throw new NotSupportedException();
        }

        public override int Read(byte[] buffer, int offset, int count) => inner.Read(buffer, offset, Math.Min(count, 12345));

        public override void Flush() => throw new NotSupportedException();

        public override long Seek(long offset, SeekOrigin origin) => throw new NotSupportedException();

        public override void SetLength(long value) => throw new NotSupportedException();

        public override void Write(byte[] buffer, int offset, int count) => throw new NotSupportedException();
    }
}
