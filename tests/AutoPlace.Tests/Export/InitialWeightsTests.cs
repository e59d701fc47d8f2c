using AutoPlace.Export;
using AutoPlace.Geometry;
using Xunit;

namespace AutoPlace.Tests.Export;

public sealed class InitialWeightsTests
{
    private static readonly PlacementResult Sample = SampleHead.Result();

    private static readonly VertexInfluences?[] Weights =
        InitialWeights.Compute(Sample.HeadMesh, Sample.Skin, Sample.Placement.Joints);

    [Fact]
    public void Shares_are_a_partition_of_one_over_known_joints_none_twice()
    {
        foreach (VertexInfluences? weights in Weights)
        {
            Assert.NotNull(weights);
            Assert.Equal(1, weights.Shares.Sum(s => (double)s), 1e-6);
            Assert.All(weights.Shares, s => Assert.InRange(s, 0f, 1f));
            int[] used = [.. weights.Joints.Zip(weights.Shares).Where(j => j.Second > 0).Select(j => j.First)];
            Assert.Equal(used.Length, used.Distinct().Count());
            Assert.All(used, j => Assert.InRange(j, 0, Sample.Placement.Joints.Count - 1));
        }
    }

    [Fact]
    public void Skin_under_a_joint_follows_that_joint_most()
    {
        for (int j = 0; j < Sample.Placement.Joints.Count; j++)
        {
            if (Sample.Placement.Joints[j].Joint.SkinPoint is Vector3d foot)
            {
                int nearest = Enumerable.Range(0, Sample.HeadMesh.VertexCount)
                    .MinBy(v => Vector3d.Distance(Sample.HeadMesh.Positions[v], foot));
                VertexInfluences weights = Weights[nearest]!;
                Assert.Equal(j, weights.Joints[0]);
            }
        }
    }

    [Fact]
    public void Back_of_the_head_stays_with_the_root()
    {
        int back = Enumerable.Range(0, Sample.HeadMesh.VertexCount).MinBy(v => Sample.HeadMesh.Positions[v].Z);

        Assert.Equal(VertexInfluences.Rigid(0).Joints, Weights[back]!.Joints);
        Assert.Equal(1, Weights[back]!.Shares[0]);
    }

    [Fact]
    public void Five_equal_weights_leave_a_valid_vertex()
    {
        VertexInfluences weights = VertexInfluences.Strongest([(3, 0.2), (1, 0.2), (2, 0.2), (5, 0.2), (4, 0.2)]);

        Assert.Equal(1, weights.Shares.Sum());
    }

    [Fact]
    public void Sharing_out_keeps_the_other_joints_weights()
    {
        var onLattice = new VertexInfluences([0, 4, 2, 7], [0.1f, 0.5f, 0.3f, 0.1f]);

        VertexInfluences shared = VertexInfluences.Share([(5, 0.6), (1, 0.3), (2, 0.1)], 5, onLattice, 10);

        Assert.Equal([14, 1, 12, 2], shared.Joints);
        Assert.Equal([0.375f, 0.3f, 0.225f, 0.1f], shared.Shares.Select(s => MathF.Round(s, 6)));
    }
}
