using System.Numerics;
using SharpGLTF.Schema2;

namespace AutoPlace.Import;

/// <summary>Morph targets of a glTF mesh at their default weights.</summary>
internal static class GltfMorphTargets
{
    /// <summary>Adds the displacements of all targets with a weight.</summary>
    /// <param name="source">For messages.</param>
    /// <param name="node">Has the weights, or its mesh has.</param>
    /// <param name="primitive">Has the targets.</param>
    /// <param name="positions">The primitive's positions, changed in place.</param>
    /// <param name="element">For messages.</param>
    /// <exception cref="MeshFormatException">An accessor is faulty.</exception>
    public static void Apply(MeshSource source, Node node, MeshPrimitive primitive, Span<Vector3> positions, string element)
    {
        IReadOnlyList<float> weights = GltfDocument.Guarded(source, GltfPose.Name(node), () => node.MorphWeights);
        for (int i = 0; i < Math.Min(weights.Count, primitive.MorphTargetsCount); i++)
        {
            if (weights[i] == 0)
            {
                continue;
            }

            Accessor? accessor = GltfDocument.Guarded(
                source, element, () => primitive.GetMorphTargetAccessors(i).GetValueOrDefault("POSITION"));
            if (accessor is not null)
            {
                GltfAccessorData.AddDisplacements(source, accessor, weights[i], positions);
            }
        }
    }
}
