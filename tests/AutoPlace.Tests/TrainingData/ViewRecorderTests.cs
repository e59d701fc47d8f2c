using System.Numerics;
using System.Runtime.InteropServices;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Rendering;
using AutoPlace.TrainingData;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Output;
using AutoPlace.TrainingData.Sampling;
using Xunit;

namespace AutoPlace.Tests.TrainingData;

public sealed class ViewRecorderTests
{
    private const int Cells = RecordLayout.CellSize;
    private const int Size = RecordLayout.ImageSize;
    private static readonly OrthographicView Frontal = OrthographicView.Around(new(0, -0.55f, -0.5f), 0, 0, 2, Size);

    [Fact]
    public void Landmark_is_the_projection_of_its_point()
    {
        HeadSample head = TrainingHeads.Random(4, HeadKind.Stylised);
        var poses = new PoseSampler(new SeededRandom(2, 2, 2), 0);
        for (int n = 0; n < 20; n++)
        {
            SampledView sampled = poses.Next();
            ReadOnlySpan<float> written = Landmarks(TrainingHeads.Record(head, sampled));
            for (int i = 0; i < head.Landmarks.Length; i++)
            {
                if (head.States[i] != LandmarkState.Absent)
                {
                    Vector3 expected = sampled.View.Project(head.Landmarks[i]);
                    Assert.Equal(expected.X, written[3 * i]);
                    Assert.Equal(expected.Y, written[(3 * i) + 1]);
                    Assert.Equal(expected.Z / sampled.View.HalfSize, written[(3 * i) + 2]);
                }
            }
        }
    }

    [Fact]
    public void Atlas_of_the_mean_is_the_surface_point_itself()
    {
        HeadSample head = TrainingHeads.Mean();
        foreach (float yaw in (ReadOnlySpan<float>)[0, 35, -70])
        {
            OrthographicView view = OrthographicView.Around(new(0, -0.55f, -0.5f), yaw, 5, 2, Size);
            byte[] record = TrainingHeads.Record(head, new SampledView(view, false, true, false, yaw, 5));
            ReadOnlySpan<Half> atlas = Atlas(record);
            var buffer = new VisibilityBuffer(Cells);
            Rasterizer.Rasterize(head.Mesh, view.WithSize(Cells), buffer);
            int checkedCells = 0;
            for (int i = 0; i < Cells * Cells; i++)
            {
                if (record[RecordLayout.Classes + i] is not ((byte)SurfaceClass.HeadSkin or (byte)SurfaceClass.Eyeball))
                {
                    continue;
                }

                Vector3 seen = view.WithSize(Cells).Unproject((i % Cells) + 0.5f, (i / Cells) + 0.5f, buffer.Z[i]);
                var label = new Vector3((float)atlas[3 * i], (float)atlas[(3 * i) + 1], (float)atlas[(3 * i) + 2]);

                // Half precision has a step of 0.002 between 2 and 4; snapping to 1/256 of a cell moves steep parts.
                Assert.True(Vector3.Distance(seen, label) < 0.006f, $"cell {i}: {seen} is labelled {label}");
                checkedCells++;
            }

            Assert.True(checkedCells > 500);
        }
    }

    [Fact]
    public void Mirrored_head_in_the_mirrored_view_gives_mirrored_images_and_labels()
    {
        int[] other = [.. LandmarkNames.All.Select(name => LandmarkNames.IndexOf(LandmarkNames.Mirror(name)))];
        foreach (int number in (ReadOnlySpan<int>)[0, 1, 2])
        {
            HeadSample head = TrainingHeads.Random(number, HeadKind.Stylised);
            SampledView sampled = new PoseSampler(new SeededRandom(7, 7, (ulong)number), 0).Next();
            byte[] record = TrainingHeads.Record(head, sampled);
            byte[] mirrored = TrainingHeads.Record(TrainingHeads.Mirrored(head), sampled with { View = Mirrored(sampled.View) });
            (int pixels, int different) = (0, 0);
            for (int y = 0; y < Size; y++)
            {
                for (int x = 0; x < Size; x++)
                {
                    int a = (y * Size) + x, b = (y * Size) + Size - 1 - x;
                    int depthA = Depth(record, a), depthB = Depth(mirrored, b);
                    pixels += depthA > 0 ? 1 : 0;
                    different += Math.Abs(depthA - depthB) > 30 || Math.Abs(Normal(record, a, 0) + Normal(mirrored, b, 0)) > 2 ? 1 : 0;
                }
            }

            // Rounding of a projection may differ by one sub-pixel step, which shows at edges.
            Assert.True(different < 0.01 * pixels, $"{different} of {pixels} pixels differ");
            int cells = 0;
            for (int i = 0; i < Cells * Cells; i++)
            {
                int flipped = (i / Cells * Cells) + Cells - 1 - (i % Cells);
                cells += record[RecordLayout.Classes + i] != mirrored[RecordLayout.Classes + flipped] ? 1 : 0;
            }

            Assert.InRange(cells, 0, 25);
            for (int i = 0; i < other.Length; i++)
            {
                if (head.States[i] != LandmarkState.Absent)
                {
                    Assert.Equal(Size - Landmarks(record)[3 * i], Landmarks(mirrored)[3 * other[i]], 0.01f);
                }

                Assert.Equal(record[RecordLayout.Flags + i] & 1, mirrored[RecordLayout.Flags + other[i]] & 1);
            }
        }
    }

    [Fact]
    public void Landmark_behind_something_is_present_but_hidden()
    {
        HeadSample head = TrainingHeads.Mean();
        byte[] open = TrainingHeads.Record(head, new SampledView(Frontal, false, true, false, 0, 0));
        byte[] covered = TrainingHeads.Record(WithSheetInFront(head), new SampledView(Frontal, false, true, false, 0, 0));
        int nose = LandmarkNames.IndexOf("pronasale");
        Assert.Equal(3, open[RecordLayout.Flags + nose]);
        Assert.Equal(1, covered[RecordLayout.Flags + nose]);
        Assert.All(Enumerable.Range(0, 63), i => Assert.Equal(0, covered[RecordLayout.Flags + i] & 2));
        Assert.Equal((byte)SurfaceClass.Other, covered[RecordLayout.Classes + (Cells * Cells / 2) + (Cells / 2)]);
    }

    [Fact]
    public void Landmark_outside_the_image_is_absent()
    {
        OrthographicView aside = Frontal with { Centre = new(3, 0, 0) };
        byte[] record = TrainingHeads.Record(TrainingHeads.Mean(), new SampledView(aside, false, true, false, 0, 0));
        ReadOnlySpan<float> landmarks = Landmarks(record);
        for (int i = 0; i < RecordLayout.LandmarkCount; i++)
        {
            bool inside = landmarks[3 * i] is >= 0 and < Size && landmarks[(3 * i) + 1] is >= 0 and < Size;
            Assert.Equal(inside, (record[RecordLayout.Flags + i] & 1) != 0);
        }

        Assert.Equal(0, record[RecordLayout.Flags + LandmarkNames.IndexOf("tragion_right")]);
    }

    /// <summary>By definition the head frame's origin lies midway between the eye centres, and its unit is their distance.</summary>
    [Fact]
    public void Head_frame_is_where_the_eyes_are()
    {
        HeadSample head = TrainingHeads.Mean();
        int left = LandmarkNames.IndexOf("eye_centre_left"), right = LandmarkNames.IndexOf("eye_centre_right");
        var views = new SurveySampler(new SeededRandom(3, 3, 3), head.Mesh);
        for (int n = 0; n < 20; n++)
        {
            byte[] record = TrainingHeads.Record(head, views.Next());
            ReadOnlySpan<float> frame = MemoryMarshal.Cast<byte, float>(record.AsSpan(RecordLayout.Frame, 4 * RecordLayout.FrameCount));
            Vector3 l = Eye(record, left), r = Eye(record, right), apart = l - r;
            Assert.Equal((l.X + r.X) / 2, frame[9], 1e-2);
            Assert.Equal((l.Y + r.Y) / 2, frame[10], 1e-2);
            Assert.Equal(frame[12], new Vector3(apart.X / (Size / 2), apart.Y / (Size / 2), apart.Z).Length(), 1e-4);
            Vector3 leftward = new(frame[0], frame[1], frame[2]), up = new(frame[3], frame[4], frame[5]), front = new(frame[6], frame[7], frame[8]);
            Assert.True(Vector3.Distance(Vector3.Cross(up, front), leftward) < 1e-5);
            Assert.True(Vector3.Dot(Vector3.Normalize(new(apart.X, -apart.Y, apart.Z * (Size / 2))), leftward) > 0.999);
        }

        static Vector3 Eye(byte[] record, int landmark)
        {
            ReadOnlySpan<float> at = Landmarks(record)[(3 * landmark)..];
            return new(at[0], at[1], at[2]);
        }
    }

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Negative_has_images_but_no_positions(bool wrongFrame)
    {
        HeadSample head = TrainingHeads.Random(5, wrongFrame ? HeadKind.Realistic : HeadKind.NonHead);
        byte[] record = TrainingHeads.Record(head, new SampledView(Frontal, false, !wrongFrame, wrongFrame, 0, 0));
        Assert.All(Enumerable.Range(0, 63), i => Assert.Equal(0, record[RecordLayout.Flags + i]));
        Assert.All(Landmarks(record).ToArray(), value => Assert.Equal(0, value));
        Assert.All(Atlas(record).ToArray(), value => Assert.Equal(Half.Zero, value));
        Assert.All(record.AsSpan(RecordLayout.Frame, 4 * RecordLayout.FrameCount).ToArray(), value => Assert.Equal(0, value));
        Assert.Equal(0, record[RecordLayout.Facing]);
        Assert.Equal((byte)(wrongFrame ? HeadKind.WrongFrame : HeadKind.NonHead), record[RecordLayout.Kind]);
        Assert.Contains(Enumerable.Range(0, Size * Size), i => Depth(record, i) > 0);
    }

    [Fact]
    public void Border_lies_where_two_materials_meet()
    {
        HeadSample head = TrainingHeads.Mean();
        byte[] plain = TrainingHeads.Record(head, new SampledView(Frontal, false, true, false, 0, 0));
        Assert.Equal(0, plain.AsSpan(RecordLayout.Border, Size * Size).IndexOfAnyExcept((byte)0) + 1);
        for (int t = 0; t < head.Materials.Length; t++)
        {
            (Vector3 a, Vector3 b, Vector3 c) = head.Mesh.Corners(t);
            head.Materials[t] = a.X + b.X + c.X > 0 ? Material.Hair : Material.Skin;
        }

        byte[] halves = TrainingHeads.Record(head, new SampledView(Frontal, false, true, false, 0, 0));
        for (int i = 0; i < Size * Size; i++)
        {
            // The seam runs along the midline, within one triangle.
            bool near = Math.Abs((i % Size) - (Size / 2)) < 12;
            Assert.True(near || halves[RecordLayout.Border + i] == 0, $"border at {i % Size}, {i / Size}");
        }

        Assert.True(halves.AsSpan(RecordLayout.Border, Size * Size).Count((byte)1) > 80);
    }

    [Fact]
    public void Depth_code_keeps_zero_free_and_is_monotonic()
    {
        Assert.Equal(1, ViewRecorder.EncodeDepth(-5));
        Assert.Equal(65535, ViewRecorder.EncodeDepth(5));
        Assert.Equal(1 + 32767, ViewRecorder.EncodeDepth(0));
    }

    private static OrthographicView Mirrored(OrthographicView view)
    {
        static Vector3 Flip(Vector3 p) => p with { X = -p.X };
        return view with { Centre = Flip(view.Centre), Right = -Flip(view.Right), Up = Flip(view.Up), Toward = Flip(view.Toward) };
    }

    private static HeadSample WithSheetInFront(HeadSample head)
    {
        int count = head.Mesh.VertexCount;
        Vector3[] sheet = [new(-3, -3, 2), new(3, -3, 2), new(3, 3, 2), new(-3, 3, 2)];
        var mesh = new TriangleMesh(
            [.. head.Mesh.Positions, .. sheet], [.. head.Mesh.Indices, count, count + 1, count + 2, count, count + 2, count + 3]);
        return head with
        {
            Mesh = mesh,
            Normals = VertexNormals.AngleWeighted(mesh),
            Flat = false,
            Atlas = [.. head.Atlas, default, default, default, default],
            Classes = [.. head.Classes, SurfaceClass.Other, SurfaceClass.Other],
            Materials = [.. head.Materials, Material.Skin, Material.Skin],
        };
    }

    private static ReadOnlySpan<float> Landmarks(byte[] record) =>
        MemoryMarshal.Cast<byte, float>(record.AsSpan(RecordLayout.Landmarks, 12 * RecordLayout.LandmarkCount));

    private static ReadOnlySpan<Half> Atlas(byte[] record) =>
        MemoryMarshal.Cast<byte, Half>(record.AsSpan(RecordLayout.Atlas, 6 * Cells * Cells));

    private static int Depth(byte[] record, int pixel) => BitConverter.ToUInt16(record, RecordLayout.Depth + (2 * pixel));

    private static int Normal(byte[] record, int pixel, int axis) => (sbyte)record[RecordLayout.Normal + (3 * pixel) + axis];
}
