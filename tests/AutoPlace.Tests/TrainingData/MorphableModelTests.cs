using System.Globalization;
using System.Numerics;
using System.Text;
using System.Text.Json;
using AutoPlace.Import;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Morphable;
using Xunit;

namespace AutoPlace.Tests.TrainingData;

public sealed class MorphableModelTests
{
    [Fact]
    public void Synthesis_adds_weighted_modes()
    {
        MorphableModel model = TinyMorphable.Build();
        Vector3[] Of(float[] identity, float[] expression)
        {
            var positions = new Vector3[model.VertexCount];
            model.Synthesize(identity, expression, positions);
            return positions;
        }

        Vector3[] a = Of([1, 0], [0, 0]), b = Of([0, 1], [0, 0]), c = Of([0, 0], [1, 0]), sum = Of([0.5f, -2], [0.25f, 0]);
        for (int v = 0; v < model.VertexCount; v++)
        {
            Vector3 mean = model.MeanPositions[v];
            Vector3 expected = mean + (0.5f * (a[v] - mean)) - (2 * (b[v] - mean)) + (0.25f * (c[v] - mean));
            Assert.True(Vector3.Distance(expected, sum[v]) < 1e-4f);
        }
    }

    [Fact]
    public void Carrier_reproduces_the_mean_and_follows_affine_maps()
    {
        MorphableModel model = TinyMorphable.Model;
        var carrier = new LandmarkCarrier(model);
        var onMean = new Vector3[63];
        carrier.Carry(model.MeanPositions, onMean);
        foreach (string name in model.Landmarks.Keys)
        {
            bool inside = name.StartsWith("eye_centre", StringComparison.Ordinal) || name == "stomion";
            Vector3 position = inside ? model.Landmarks[name] : LandmarkDefinition.OnMean(model, name);
            Assert.True(Vector3.Distance(position, onMean[LandmarkNames.IndexOf(name)]) < 2e-4f, name);
        }

        Matrix4x4 map = Matrix4x4.CreateScale(1.3f, 0.7f, 1.1f) * Matrix4x4.CreateFromYawPitchRoll(0.3f, 0.2f, -0.4f) * Matrix4x4.CreateTranslation(1, 2, 3);
        Vector3[] moved = [.. model.MeanPositions.Select(p => Vector3.Transform(p, map))];
        var onMoved = new Vector3[63];
        carrier.Carry(moved, onMoved);
        for (int i = 0; i < 63; i++)
        {
            string name = LandmarkNames.All[i];
            if (model.Landmarks.TryGetValue(name, out Vector3 listed) && LandmarkDefinition.OnMean(model, name) != listed)
            {
                continue; // keeps its distance from the skin, which the tiny model has elsewhere
            }

            Assert.True(Vector3.Distance(Vector3.Transform(onMean[i], map), onMoved[i]) < 1e-3f, name);
        }
    }

    [Fact]
    public void Carrier_puts_sides_where_they_belong()
    {
        MorphableModel model = TinyMorphable.Model;
        var carrier = new LandmarkCarrier(model);
        for (int i = 0; i < 63; i++)
        {
            Vector3 own = carrier.Carry(model.MeanPositions, i);
            string name = LandmarkNames.All[i];
            Vector3 mirror = carrier.Carry(model.MeanPositions, LandmarkNames.IndexOf(LandmarkNames.Mirror(name)));
            Assert.True(Vector3.Distance(own, mirror with { X = -mirror.X }) < 1e-3f, name);
            Assert.True(name.EndsWith("_left", StringComparison.Ordinal) ? own.X > 0
                : name.EndsWith("_right", StringComparison.Ordinal) ? own.X < 0 : MathF.Abs(own.X) < 1e-3f, name);
        }
    }

    [Fact]
    public void Imported_obj_files_synthesize_the_published_heads()
    {
        string folder = Directory.CreateTempSubdirectory().FullName;
        try
        {
            MorphableModel model = TinyMorphable.Model;
            string from = Directory.CreateDirectory(Path.Combine(folder, "obj")).FullName, to = Path.Combine(folder, "arrays");
            Vector3[] identity = [.. model.MeanPositions.Select(p => p + new Vector3(0.1f * p.Y, 0, 0.05f * p.X))];
            Vector3[] blink = [.. model.MeanPositions.Select(p => p - new Vector3(0, 0.02f * p.Z, 0))];
            WriteObj(model, model.MeanPositions, Path.Combine(from, "generic_neutral_mesh.obj"));
            WriteObj(model, identity, Path.Combine(from, "identity000.obj"));
            WriteObj(model, blink, Path.Combine(from, "eyeBlink_L.obj"));
            string landmarks = Path.Combine(folder, "landmarks.json");
            File.WriteAllText(landmarks, JsonSerializer.Serialize(
                model.Landmarks.ToDictionary(l => l.Key, l => new[] { l.Value.X, l.Value.Y, l.Value.Z })));
            Assert.Equal((1, 1), MorphableImporter.Import(from, landmarks, to));
            MorphableModel loaded = MorphableModel.Load(to, model.Layout);
            Assert.Equal(["eyeBlink_L"], loaded.ExpressionNames);
            Assert.Equal(FromSmallest(model.Triangles), FromSmallest(loaded.Triangles));
            var positions = new Vector3[loaded.VertexCount];
            loaded.Synthesize([1], [0], positions);
            Assert.All(positions.Zip(identity), pair => Assert.True(Vector3.Distance(pair.First, pair.Second) < 1e-3f));
            loaded.Synthesize([0], [1], positions);
            Assert.All(positions.Zip(blink), pair => Assert.True(Vector3.Distance(pair.First, pair.Second) < 1e-3f));
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    [Fact]
    public void Import_without_a_neutral_head_names_the_folder()
    {
        string folder = Directory.CreateTempSubdirectory().FullName;
        try
        {
            MeshFormatException exception = Assert.Throws<MeshFormatException>(() => MorphableImporter.Import(folder, "none", folder));
            Assert.Contains(folder, exception.Message, StringComparison.Ordinal);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    // A triangle is the same wherever its list of corners begins.
    private static IEnumerable<(int A, int B, int C)> FromSmallest(int[] triangles) =>
        triangles.Chunk(3).Select(t => Array.IndexOf(t, t.Min())
            switch
        { 0 => (t[0], t[1], t[2]), 1 => (t[1], t[2], t[0]), _ => (t[2], t[0], t[1]) });

    private static void WriteObj(MorphableModel model, Vector3[] positions, string path)
    {
        var text = new StringBuilder();
        foreach (Vector3 p in positions)
        {
            text.Append(CultureInfo.InvariantCulture, $"v {p.X:R} {p.Y:R} {p.Z:R}\n");
        }

        for (int t = 0; t < model.Triangles.Length; t += 3)
        {
            text.Append(CultureInfo.InvariantCulture, $"f {model.Triangles[t] + 1}/1 {model.Triangles[t + 1] + 1}/1 {model.Triangles[t + 2] + 1}/1\n");
        }

        File.WriteAllText(path, text.ToString());
    }
}
