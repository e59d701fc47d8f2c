using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.TrainingData.Meshing;

/// <summary>Puts the deformed vertices of the model together into a mesh, with classes and materials.</summary>
internal static class HeadAssembly
{
    /// <summary>Appends the parts that the head has. Vertex numbers stay those of the model.</summary>
    /// <param name="draft">The head, in its final shape.</param>
    /// <param name="skinMaterial">Material of a skin triangle by its corners, in heads with several materials.</param>
    public static void Assemble(HeadDraft draft, Func<int, int, int, Material> skinMaterial)
    {
        MorphableModel model = draft.Model;
        for (int v = 0; v < model.VertexCount; v++)
        {
            draft.Mesh.AddVertex(draft.Shape[v], model.Atlas[v]);
        }

        for (int t = 0; t < model.TriangleMaterials.Length; t++)
        {
            (int a, int b, int c) = (model.Triangles[3 * t], model.Triangles[(3 * t) + 1], model.Triangles[(3 * t) + 2]);
            Part part = InnermostPart(model, a, b, c);
            if (draft.Dropped[(int)part])
            {
                continue;
            }

            bool hair = draft.Haired[a] && draft.Haired[b] && draft.Haired[c];
            Material material = !draft.HasMaterials ? Material.Skin
                : hair ? Material.Hair
                : part <= Part.Scalp ? skinMaterial(a, b, c)
                : MaterialOf(model, t, part);
            draft.Mesh.AddTriangle(a, b, c, hair ? SurfaceClass.OnHead : ClassOf(part), material);
        }
    }

    /// <summary>The part of a triangle: parts are numbered from the outside in, and border triangles belong inside.</summary>
    public static Part InnermostPart(MorphableModel model, int a, int b, int c) =>
        (Part)Math.Max((int)model.Parts[a], Math.Max((int)model.Parts[b], (int)model.Parts[c]));

    private static SurfaceClass ClassOf(Part part) => part switch
    {
        Part.Face or Part.Scalp or Part.EyeSocketLeft or Part.EyeSocketRight => SurfaceClass.HeadSkin,
        Part.MouthSocket or Part.GumsTongue or Part.UpperTeeth or Part.LowerTeeth => SurfaceClass.MouthInterior,
        Part.EyeballLeft or Part.EyeballRight or Part.EyeShells or Part.EyeOcclusion => SurfaceClass.Eyeball,
        _ => SurfaceClass.OnHead,
    };

    private static Material MaterialOf(MorphableModel model, int triangle, Part part) => part switch
    {
        Part.UpperTeeth or Part.LowerTeeth => Material.Teeth,
        Part.MouthSocket or Part.GumsTongue => Material.Mouth,
        Part.EyeballLeft or Part.EyeballRight => IsIris(model, triangle) ? Material.Iris : Material.Sclera,
        Part.EyeShells or Part.EyeOcclusion => Material.Sclera,
        Part.Lashes => Material.Hair,
        _ => Material.Skin,
    };

    private static bool IsIris(MorphableModel model, int triangle) =>
        model.MaterialNames[model.TriangleMaterials[triangle]].Contains("Iris", StringComparison.Ordinal);
}
