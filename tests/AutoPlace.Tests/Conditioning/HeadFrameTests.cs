using System.Numerics;
using AutoPlace.Conditioning;
using AutoPlace.Geometry;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Conditioning;

public sealed class HeadFrameTests
{
    [Fact]
    public void File_and_head_coordinates_are_inverse()
    {
        Gen<double> unit = Gen.Double[-1, 1];
        Gen.Select(unit, unit, unit, Gen.Double[0.01, 100]).Sample((x, y, z, iod) =>
        {
            Facing f = AxisFrames.All[7];
            var frame = new HeadFrame(new(3, -2, 5), f.Left, f.Up, f.Front, iod);
            var p = new Vector3d(x, y, z);
            Assert.True(Vector3d.Distance(p, frame.ToHead(frame.ToFile(p))) < 1e-12);
        });
    }

    [Fact]
    public void Crops_of_a_head_sized_ellipsoid_hold_its_true_frame()
    {
        // An ellipsoid with the proportions of a head (REFERENCES: ANSUR II head breadth 152, length 195, height about 230 mm).
        var positions = new List<Vector3>();
        for (int i = 0; i < 40; i++)
        {
            for (int j = 0; j < 20; j++)
            {
                (double u, double v) = (i * Math.PI / 20, (j + 0.5) * Math.PI / 20);
                positions.Add(new Vector3(
                    (float)(76 * Math.Sin(v) * Math.Cos(u)), (float)(115 * Math.Cos(v)), (float)(97 * Math.Sin(v) * Math.Sin(u))));
            }
        }

        IReadOnlyList<HeadFrame> crops = HeadCrops.Candidates(positions.ToArray(), AxisFrames.All[0]);
        Assert.Contains(crops, c => Math.Abs(Math.Log(c.InterocularDistance / 63)) < Math.Log(4.0 / 3)
            && Math.Abs(c.Origin.Y - 5) < 30 && Math.Abs(c.Origin.X) < 1 && Math.Abs(c.Origin.Z - 75) < 30);
    }

    [Fact]
    public void Crops_scale_with_the_mesh()
    {
        Vector3[] box = [new(-1, -1, -1), new(1, 2, 1), new(0, 1, 0.5f), new(0.5f, 1.5f, -0.5f)];
        IReadOnlyList<HeadFrame> one = HeadCrops.Candidates(box, AxisFrames.All[0]);
        IReadOnlyList<HeadFrame> four = HeadCrops.Candidates(Array.ConvertAll(box, p => p * 4), AxisFrames.All[0]);
        Assert.Equal(one.Count, four.Count);
        for (int i = 0; i < one.Count; i++)
        {
            Assert.Equal(4 * one[i].InterocularDistance, four[i].InterocularDistance, 1e-12);
            Assert.True(Vector3d.Distance(one[i].Origin * 4, four[i].Origin) < 1e-12);
        }
    }

    [Fact]
    public void Mesh_without_extent_has_no_crops()
    {
        Assert.Empty(HeadCrops.Candidates([], AxisFrames.All[0]));
        Assert.Empty(HeadCrops.Candidates([new(1, 1, 1), new(1, 1, 1)], AxisFrames.All[0]));
    }
}
