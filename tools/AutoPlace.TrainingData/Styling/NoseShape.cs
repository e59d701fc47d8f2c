using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>A nose as a separate piece, ball, block, wedge or ridge, on a face whose own nose was taken away.</summary>
internal static class NoseShape
{
    /// <summary>Appends it and moves the nose's landmarks onto it.</summary>
    public static void Append(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        if (random.Chance(0.35f))
        {
            AppendRidge(draft);
            return;
        }

        Vector3 subnasale = draft.Landmark("subnasale"), nasion = draft.Landmark("nasion");
        float height = Vector3.Distance(nasion, subnasale);
        float width = height * random.LogUniform(0.12f, 0.55f);
        float u = random.Unit();
        bool wedge = u < 0.35f, block = u > 0.75f;
        float tall = wedge ? height * random.Uniform(0.4f, 0.95f) : MathF.Min(0.6f * height, width * random.LogUniform(0.6f, block ? 3.5f : 1.5f));
        float depth = wedge ? height * random.Uniform(0.25f, 1) : width * random.LogUniform(0.6f, 2.2f);
        var centre = new Vector3(0, subnasale.Y + (wedge ? tall / 2 : tall * random.Uniform(0.6f, 1.2f)), subnasale.Z + (wedge ? 0 : 0.35f * depth));
        WorkMesh mesh = draft.Mesh;
        int first = mesh.VertexCount;
        if (wedge)
        {
            AppendWedge(mesh, centre, width, tall / 2, depth);
        }
        else
        {
            Vector2 exponents = block ? new(random.Uniform(0.2f, 0.7f), random.Uniform(0.2f, 0.7f)) : Vector2.One;
            Primitives.Superquadric(
                mesh, centre, new Vector3(width, tall, depth), Quaternion.Identity, exponents, random.Whole(4, 11), new Stuff(SurfaceClass.HeadSkin, Material.Skin));
        }

        AssignAtlas(draft, first, centre, new Vector3(width, wedge ? tall / 2 : tall, depth));
        Set(draft, "pronasale", wedge ? new(0, centre.Y - (0.35f * tall), centre.Z + (0.85f * depth)) : new(0, centre.Y, centre.Z + depth));
        Set(draft, "nose_bridge", new(0, (nasion.Y + centre.Y + (wedge ? 0 : tall)) / 2, draft.Landmark("nose_bridge").Z));
        Set(draft, "subnasale", new(0, centre.Y - (wedge ? tall / 2 : tall), wedge ? subnasale.Z : MathF.Max(subnasale.Z, centre.Z)));
        float alaY = centre.Y - (wedge ? 0.4f * tall : block ? 0.5f * tall : 0);

        // A block's side is equally wide from back to front: what is seen from the front is its front edge. A wedge's lower
        // corner is marked a little way up its edge.
        float alaZ = centre.Z + (block ? 0.6f * depth : wedge ? 0.1f * depth : 0);
        float alaX = wedge ? 0.8f * width : width;
        Set(draft, "alare_left", new(alaX, alaY, alaZ));
        Set(draft, "alare_right", new(-alaX, alaY, alaZ));
        draft.SetStates("nostril", LandmarkState.Absent);
    }

    // A folded sheet from the brow down, with steep sides, a narrow front and a flat underside; it may flare out below.
    private static void AppendRidge(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        Vector3 subnasale = draft.Landmark("subnasale"), nasion = draft.Landmark("nasion");
        float height = Vector3.Distance(nasion, subnasale);
        float top = nasion.Y + (height * random.Uniform(-0.2f, 0.25f)), bottom = subnasale.Y + (height * random.Uniform(-0.1f, 0.15f));
        float depth = height * random.Uniform(0.25f, 0.8f), rootDepth = depth * random.Uniform(0.05f, 0.35f);
        float width = height * random.LogUniform(0.12f, 0.4f), rootWidth = width * random.Uniform(0.3f, 1);
        float front = random.Uniform(0.3f, 1), flareAt = random.Uniform(0.45f, 0.85f), flare = random.Chance(0.5f) ? random.Uniform(0.5f, 1) : 0;
        float tipRise = height * random.Uniform(-0.08f, 0.12f);
        WorkMesh mesh = draft.Mesh;
        int first = mesh.VertexCount;
        Span<int> above = stackalloc int[4], section = stackalloc int[4];
        for (int i = 0; i < 3; i++)
        {
            float down = i == 0 ? 0 : i == 1 ? flareAt : 1;
            float half = i == 2 ? width : float.Lerp(rootWidth, width, down * (1 - flare));
            float y = float.Lerp(top, bottom, down), z = float.Lerp(nasion.Z, subnasale.Z, down), forth = float.Lerp(rootDepth, depth, down);
            Vector3 side = new(half, y, z - (0.15f * depth)), edge = new(front * half, y + (down * tipRise), z + forth);
            section[0] = mesh.AddVertex(side);
            section[1] = mesh.AddVertex(edge);
            section[2] = mesh.AddVertex(edge with { X = -edge.X });
            section[3] = mesh.AddVertex(side with { X = -side.X });
            for (int k = 0; i > 0 && k < 3; k++)
            {
                mesh.AddQuad(above[k], section[k], section[k + 1], above[k + 1], SurfaceClass.HeadSkin, Material.Skin);
            }

            section.CopyTo(above);
        }

        mesh.AddQuad(section[3], section[2], section[1], section[0], SurfaceClass.HeadSkin, Material.Skin);
        mesh.AddQuad(first, first + 1, first + 2, first + 3, SurfaceClass.HeadSkin, Material.Skin);
        AssignAtlas(draft, first, new(0, (top + bottom) / 2, (nasion.Z + subnasale.Z) / 2), new(width, (top - bottom) / 2, depth));
        Set(draft, "nasion", new(0, top, nasion.Z + rootDepth));
        Set(draft, "nose_bridge", new(0, (top + bottom) / 2, ((nasion.Z + subnasale.Z) / 2) + ((rootDepth + depth) / 2)));
        Set(draft, "pronasale", new(0, bottom + tipRise, subnasale.Z + depth));
        Set(draft, "subnasale", new(0, bottom, subnasale.Z));

        // From the front a steep side is seen from its edge: the steeper, the further in front.
        float forward = 0.5f * front;
        var ala = new Vector3(
            width * float.Lerp(1, front, forward), bottom + (forward * tipRise), float.Lerp(subnasale.Z - (0.15f * depth), subnasale.Z + depth, forward));
        Set(draft, "alare_left", ala);
        Set(draft, "alare_right", ala with { X = -ala.X });
        draft.SetStates("nostril", LandmarkState.Absent);
    }

    // A pyramid on the face: narrow above, wide below, tip in front of the lower third.
    private static void AppendWedge(WorkMesh mesh, Vector3 centre, float width, float halfHeight, float depth)
    {
        int top = mesh.AddVertex(centre + new Vector3(0, halfHeight, 0.1f * depth));
        int left = mesh.AddVertex(centre + new Vector3(width, -halfHeight, -0.1f * depth));
        int right = mesh.AddVertex(centre + new Vector3(-width, -halfHeight, -0.1f * depth));
        int tip = mesh.AddVertex(centre + new Vector3(0, -0.7f * halfHeight, 0.9f * depth));
        mesh.AddTriangle(top, tip, left, SurfaceClass.HeadSkin, Material.Skin);
        mesh.AddTriangle(top, right, tip, SurfaceClass.HeadSkin, Material.Skin);
        mesh.AddTriangle(left, tip, right, SurfaceClass.HeadSkin, Material.Skin);
    }

    // Each vertex shows the point of the mean's nose that lies in the same direction from the nose's middle.
    private static void AssignAtlas(HeadDraft draft, int first, Vector3 centre, Vector3 radii)
    {
        MorphableModel model = draft.Model;
        Vector3 Mean(string name) => model.Landmarks[name];
        float halfHeight = (Mean("nasion").Y - Mean("subnasale").Y) / 2;
        var middle = new Vector3(0, Mean("subnasale").Y + halfHeight, Mean("alare_left").Z - 0.5f);
        var meanRadii = new Vector3(Mean("alare_left").X, halfHeight, Mean("pronasale").Z - middle.Z);
        int end = model.Layout.Range(Part.Face, model.VertexCount).End;
        for (int v = first; v < draft.Mesh.VertexCount; v++)
        {
            Vector3 direction = Vector3.Normalize((draft.Mesh.Positions[v] - centre) / radii);
            float best = float.NegativeInfinity;
            int nearest = 0;
            for (int m = 0; m < end; m++)
            {
                Vector3 d = (model.MeanPositions[m] - middle) / meanRadii;
                float length = d.LengthSquared();
                float score = length < 4 ? Vector3.Dot(d, direction) / MathF.Sqrt(MathF.Max(length, 1e-6f)) : -1;
                if (score > best)
                {
                    (best, nearest) = (score, m);
                }
            }

            draft.Mesh.Atlas[v] = model.Atlas[nearest];
        }
    }

    private static void Set(HeadDraft draft, string name, Vector3 position) =>
        draft.Landmarks[LandmarkNames.IndexOf(name)] = position;
}
