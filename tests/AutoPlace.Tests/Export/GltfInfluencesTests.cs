using System.Text.Json.Nodes;
using AutoPlace.Export;
using Xunit;

namespace AutoPlace.Tests.Export;

public sealed class GltfInfluencesTests
{
    /// <summary>A skin with two sets of influences, of which some vertices need one only: the others' second set is empty.</summary>
    [Fact]
    public void Vertices_may_need_fewer_sets_than_others()
    {
        var file = GlbContainer.Empty();
        var attributes = new JsonObject();
        VertexInfluences many = VertexInfluences.Share([.. Enumerable.Range(0, 6).Select(j => (j, 1.0 / 6))], 9, null, 10);
        VertexInfluences few = VertexInfluences.Share([(3, 1.0)], 9, null, 10);

        GltfInfluences.Add(file, attributes, [few, many, null], 10);

        Assert.Equal(["JOINTS_0", "JOINTS_1", "WEIGHTS_0", "WEIGHTS_1"], attributes.Select(a => a.Key).Order(StringComparer.Ordinal));
        Assert.All(attributes, a => Assert.Equal(3, (int)file.Root["accessors"]![(int)a.Value!]!["count"]!));
        Assert.Equal((8, 4), (many.Joints.Length, few.Joints.Length));
    }
}
