using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Morphable;
using Xunit;

namespace AutoPlace.Tests.TrainingData;

public sealed class LandmarkExtremesTests
{
    private static readonly MorphableModel Model = TinyMorphable.Model;
    private static readonly LandmarkCarrier Carrier = new(Model);
    private static readonly LandmarkExtremes Extremes = new(Model, Carrier);

    public static TheoryData<string> Names => [.. LandmarkDefinition.Extremes.Select(e => e.Name)];

    [Theory]
    [MemberData(nameof(Names))]
    public void No_vertex_near_it_lies_further_out(string name)
    {
        LandmarkDefinition.Extreme extreme = LandmarkDefinition.Extremes.Single(e => e.Name == name);
        Vector3 direction = Vector3.Normalize(extreme.Direction), place = Carrier.Carry(Model.MeanPositions, LandmarkNames.IndexOf(name));
        Vector3[] shape = [.. Model.MeanPositions.Select(p => p + (0.3f * MathF.Sin(2 * p.Y) * Vector3.UnitZ))];
        float found = Vector3.Dot(Found(shape, name), direction);
        float allowance = (extreme.Preference * extreme.ReachCm * extreme.ReachCm) + 0.04f;
        for (int v = 0; v < Model.VertexCount; v++)
        {
            Vector3 p = Model.MeanPositions[v];
            bool near = Model.Parts[v] == Part.Face && Vector3.Distance(p, place) <= extreme.ReachCm
                && (direction.X != 0 || MathF.Abs(p.X) < 0.03f);
            Assert.True(!near || Vector3.Dot(shape[v], direction) <= found + allowance, $"vertex {v} of {name}");
        }
    }

    [Fact]
    public void Landmarks_move_with_the_head_and_keep_their_sides()
    {
        var shift = new Vector3(1, -2, 0.5f);
        Vector3[] moved = [.. Model.MeanPositions.Select(p => p + shift)];
        Vector3[] mirrored = [.. Model.MeanPositions.Select(p => p with { X = -p.X })];
        foreach (string name in LandmarkDefinition.Extremes.Select(e => e.Name))
        {
            Assert.True(Vector3.Distance(Found(Model.MeanPositions, name) + shift, Found(moved, name)) < 1e-3f, name);
            Vector3 other = Found(Model.MeanPositions, LandmarkNames.Mirror(name));
            Assert.True(Vector3.Distance(Found(Model.MeanPositions, name), other with { X = -other.X }) < 1e-3f, name);
        }
    }

    [Fact]
    public void A_bump_on_the_chin_draws_pogonion_to_it()
    {
        LandmarkDefinition.Extreme extreme = LandmarkDefinition.Extremes.Single(e => e.Name == "pogonion");
        Vector3 place = Carrier.Carry(Model.MeanPositions, LandmarkNames.IndexOf("pogonion"));
        int[] chin = [.. Enumerable.Range(0, Model.VertexCount).Where(v => Model.Parts[v] == Part.Face
            && MathF.Abs(Model.MeanPositions[v].X) < 0.03f && Vector3.Distance(Model.MeanPositions[v], place) <= extreme.ReachCm)];
        Assert.NotEmpty(chin);
        foreach (int v in chin)
        {
            Vector3[] shape = [.. Model.MeanPositions];
            shape[v].Z += 2;
            Assert.True(Vector3.Distance(Found(shape, "pogonion"), shape[v]) < 0.05f);
        }
    }

    private static Vector3 Found(Vector3[] shape, string name)
    {
        var landmarks = new Vector3[LandmarkNames.All.Count];
        Carrier.Carry(shape, landmarks);
        Extremes.Refine(shape, landmarks);
        return landmarks[LandmarkNames.IndexOf(name)];
    }
}
