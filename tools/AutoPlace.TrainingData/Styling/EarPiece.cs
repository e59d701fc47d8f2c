using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>Ears as separate pieces, discs or leaves, on a head whose own ears were taken away.</summary>
internal static class EarPiece
{
    /// <summary>Appends a pair and moves the tragion onto each piece's front edge, where it meets the head.</summary>
    public static void Append(HeadDraft draft, HeadRegions regions)
    {
        SeededRandom random = draft.Random;
        float unit = Vector3.Distance(draft.Landmark("eye_centre_left"), draft.Landmark("eye_centre_right"));
        Vector3 radii = unit * new Vector3(random.Uniform(0.05f, 0.2f), random.LogUniform(0.15f, 0.6f), random.Uniform(0.12f, 0.32f));
        float up = unit * random.Uniform(-0.05f, 0.3f), turnOut = random.Uniform(0, 0.9f), lean = random.Uniform(-0.3f, 0.3f);
        int rings = random.Whole(4, 9);
        foreach (string side in (ReadOnlySpan<string>)["left", "right"])
        {
            int landmark = LandmarkNames.IndexOf("tragion_" + side);
            float outward = side == "left" ? 1 : -1;
            Vector3 root = draft.Landmarks[landmark];
            Quaternion turn = Quaternion.CreateFromAxisAngle(Vector3.UnitY, outward * turnOut) * Quaternion.CreateFromAxisAngle(Vector3.UnitZ, -outward * lean);
            Vector3 centre = root + new Vector3(outward * 0.5f * radii.Z * turnOut, up, -0.6f * radii.Z);
            int first = draft.Mesh.VertexCount;
            Primitives.Ellipsoid(draft.Mesh, centre, radii, turn, rings, new Stuff(SurfaceClass.HeadSkin, Material.Skin));
            AssignAtlas(draft, regions, first, root, centre, radii, turn);
            draft.Landmarks[landmark] = centre + Vector3.Transform(new Vector3(0.3f * outward * radii.X, 0, 0.9f * radii.Z), turn);
        }
    }

    // The point of the mean's ear that lies in the same direction from the ear's middle.
    private static void AssignAtlas(
        HeadDraft draft, HeadRegions regions, int first, Vector3 root, Vector3 centre, Vector3 radii, Quaternion turn)
    {
        MorphableModel model = draft.Model;
        var low = new Vector3(float.PositiveInfinity);
        var high = new Vector3(float.NegativeInfinity);
        for (int m = 0; m < model.VertexCount; m++)
        {
            if (regions.EarWeight[m] > 0.5f && model.MeanPositions[m].X * root.X > 0)
            {
                low = Vector3.Min(low, model.MeanPositions[m]);
                high = Vector3.Max(high, model.MeanPositions[m]);
            }
        }

        Quaternion back = Quaternion.Inverse(turn);
        for (int v = first; v < draft.Mesh.VertexCount; v++)
        {
            Vector3 wanted = Vector3.Transform(draft.Mesh.Positions[v] - centre, back) / radii;
            float best = float.PositiveInfinity;
            for (int m = 0; m < model.VertexCount; m++)
            {
                if (regions.EarWeight[m] > 0.5f && model.MeanPositions[m].X * root.X > 0)
                {
                    Vector3 d = ((2 * model.MeanPositions[m]) - low - high) / (high - low);
                    float distance = Vector3.DistanceSquared(d, wanted);
                    if (distance < best)
                    {
                        best = distance;
                        draft.Mesh.Atlas[v] = model.Atlas[m];
                    }
                }
            }
        }
    }
}
