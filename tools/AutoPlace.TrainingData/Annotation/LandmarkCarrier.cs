using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.TrainingData.Annotation;

/// <summary>
/// Ties each landmark to vertices of the morphable head by affine weights, so that it moves with any deformation of
/// them. Definitions are those of anthropometry; numbers of contour points are those of the usual 68.
/// </summary>
internal sealed class LandmarkCarrier
{
    private readonly Tie[] _ties;

    /// <summary>Finds the ties on the mean.</summary>
    /// <exception cref="ArgumentException">A named landmark that the model doesn't have.</exception>
    public LandmarkCarrier(MorphableModel model)
    {
        _ties = [.. LandmarkNames.All.Select(name => Find(model, name))];
    }

    /// <summary>Number of landmarks.</summary>
    public int Count => _ties.Length;

    /// <summary>Vertices that carry a landmark.</summary>
    public ReadOnlySpan<int> Vertices(int landmark) => _ties[landmark].Vertices;

    /// <summary>All landmarks on a deformed head.</summary>
    /// <param name="positions">Positions of the model's vertices, any frame that is a deformation of the mean.</param>
    /// <param name="landmarks">Receives <see cref="Count"/> positions.</param>
    public void Carry(ReadOnlySpan<Vector3> positions, Span<Vector3> landmarks)
    {
        for (int i = 0; i < _ties.Length; i++)
        {
            landmarks[i] = Carry(positions, i);
        }
    }

    /// <summary>One landmark on a deformed head.</summary>
    public Vector3 Carry(ReadOnlySpan<Vector3> positions, int landmark)
    {
        Tie tie = _ties[landmark];
        Vector3 sum = tie.Offset;
        for (int k = 0; k < tie.Vertices.Length; k++)
        {
            sum += tie.Weights[k] * positions[tie.Vertices[k]];
        }

        return sum;
    }

    private static Tie Find(MorphableModel model, string name)
    {
        int[] contour = model.Layout.Contour68;
        bool left = name.EndsWith("_left", StringComparison.Ordinal);
        int Side(int rightPoint, int leftPoint) => contour[left ? leftPoint : rightPoint];
        int JawFromEar(int step) => left ? model.Layout.JawLeft[^(step + 1)] : model.Layout.JawRight[step];
        string stem = name.EndsWith("_left", StringComparison.Ordinal) || name.EndsWith("_right", StringComparison.Ordinal)
            ? name[..name.LastIndexOf('_')] : name;
        return stem switch
        {
            "eye_centre" => OnBall(model, left ? Part.EyeballLeft : Part.EyeballRight, model.Landmarks[name]),
            "stomion" => new([contour[62], contour[66]], [0.5f, 0.5f], default),
            "lid_upper_lateral" => At(Side(37, 44)),
            "lid_upper_medial" => At(Side(38, 43)),
            "lid_lower_medial" => At(Side(40, 47)),
            "lid_lower_lateral" => At(Side(41, 46)),
            "brow_1" => At(Side(21, 22)),
            "brow_2" => At(Side(20, 23)),
            "brow_3" => At(Side(19, 24)),
            "brow_4" => At(Side(18, 25)),
            "brow_5" => At(Side(17, 26)),
            "nose_bridge" => At(contour[28]),
            "nostril" => At(Side(32, 34)),
            "labiale_superius" => At(contour[51]),
            "labiale_inferius" => At(contour[57]),
            "crista_philtri" => At(Side(50, 52)),
            "lip_upper_lateral" => At(Side(49, 53)),
            "lip_lower_lateral" => At(Side(59, 55)),
            "lip_lower_medial" => At(Side(58, 56)),
            "lip_contact_upper" => At(name == stem ? contour[62] : Side(61, 63)),
            "lip_contact_lower" => At(name == stem ? contour[66] : Side(67, 65)),
            "glabella" => At(Glabella(model)),
            "sublabiale" => At(Sublabiale(model)),
            // From the ear: the mandible's angle is the fourth point of the jaw line, the chin lies beyond the last.
            "gonion" => At(JawFromEar(3)),
            "jaw_line_2" => At(JawFromEar(5)),
            "jaw_line_1" => At(JawFromEar(6)),
            _ when model.Landmarks.ContainsKey(name) => OnSkin(model, LandmarkDefinition.OnMean(model, name)),
            _ => throw new ArgumentException($"The model has no landmark '{name}'."),
        };
    }

    private static Tie At(int vertex) => new([vertex], [1f], default);

    // Most anterior midline point between the brows and above the nasal root.
    private static int Glabella(MorphableModel model)
    {
        int[] contour = model.Layout.Contour68;
        float nasion = model.Landmarks["nasion"].Y;
        float brow = model.MeanPositions[contour[21]].Y;
        return Midline(model, nasion + (0.5f * (brow - nasion)), brow + (0.35f * (brow - nasion)), p => p.Z);
    }

    // Deepest midline point between lower lip and chin, measured from the chord that joins them.
    private static int Sublabiale(MorphableModel model)
    {
        Vector3 lip = model.MeanPositions[model.Layout.Contour68[57]];
        Vector3 chin = model.Landmarks["pogonion"];
        float slope = (lip.Z - chin.Z) / (lip.Y - chin.Y);
        return Midline(model, chin.Y, lip.Y, p => chin.Z + (slope * (p.Y - chin.Y)) - p.Z);
    }

    private static int Midline(MorphableModel model, float low, float high, Func<Vector3, float> score)
    {
        float width = 0.01f * model.AtlasScale;
        int best = -1;
        for (int v = 0; v < model.VertexCount; v++)
        {
            Vector3 p = model.MeanPositions[v];
            bool eligible = model.Parts[v] == Part.Face && MathF.Abs(p.X) <= width && p.Y >= low && p.Y <= high && p.Z > model.AtlasOrigin.Z;
            if (eligible && (best < 0 || score(p) > score(model.MeanPositions[best])))
            {
                best = v;
            }
        }

        return best >= 0 ? best : throw new ArgumentException($"The model has no midline vertex between {low} and {high}.");
    }

    // Nearest point of the skin's triangles, with the remaining offset.
    private static Tie OnSkin(MorphableModel model, Vector3 point)
    {
        float best = float.PositiveInfinity;
        Tie tie = default;
        for (int t = 0; t < model.Triangles.Length; t += 3)
        {
            (int a, int b, int c) = (model.Triangles[t], model.Triangles[t + 1], model.Triangles[t + 2]);
            if (model.Parts[a] > Part.Scalp || model.Parts[b] > Part.Scalp || model.Parts[c] > Part.Scalp)
            {
                continue;
            }

            Vector3 weights = TriangleProjection.Barycentric(
                point, model.MeanPositions[a], model.MeanPositions[b], model.MeanPositions[c]);
            Vector3 foot = (weights.X * model.MeanPositions[a]) + (weights.Y * model.MeanPositions[b]) + (weights.Z * model.MeanPositions[c]);
            float distance = Vector3.DistanceSquared(point, foot);
            if (distance < best)
            {
                best = distance;
                tie = new([a, b, c], [weights.X, weights.Y, weights.Z], point - foot);
            }
        }

        return tie;
    }

    // Affine weights of least norm over all vertices of the ball that reproduce its centre.
    private static Tie OnBall(MorphableModel model, Part part, Vector3 centre)
    {
        (int first, int end) = model.Layout.Range(part, model.VertexCount);
        int[] vertices = [.. Enumerable.Range(first, end - first)];
        Vector3d mean = Vector3d.Zero;
        foreach (int v in vertices)
        {
            mean += (Vector3d)model.MeanPositions[v] / vertices.Length;
        }

        var scatter = new Matrix3d(Vector3d.Zero, Vector3d.Zero, Vector3d.Zero);
        foreach (int v in vertices)
        {
            Vector3d d = (Vector3d)model.MeanPositions[v] - mean;
            scatter += Matrix3d.Outer(d, d);
        }

        Vector3d gradient = scatter.Inverse() * ((Vector3d)centre - mean);
        float[] weights = [.. vertices.Select(v =>
            (float)((1.0 / vertices.Length) + Vector3d.Dot(gradient, (Vector3d)model.MeanPositions[v] - mean)))];
        return new(vertices, weights, default);
    }

    private readonly record struct Tie(int[] Vertices, float[] Weights, Vector3 Offset);
}
