using System.Text.Json;

namespace AutoPlace.Import;

/// <summary>
/// Checks that nodes form trees (glTF 2.0, section 3.5.2), before anything walks along them: children exist, no node has
/// two parents, no node is its own ancestor.
/// </summary>
internal static class GltfNodeTree
{
    /// <summary>Throws when the nodes don't form trees.</summary>
    /// <exception cref="MeshFormatException">Names the node.</exception>
    public static void Check(MeshSource source, JsonElement root)
    {
        if (!root.TryGetProperty("nodes", out JsonElement nodes) || nodes.ValueKind != JsonValueKind.Array)
        {
            return;
        }

        int[] parents = Parents(source, nodes);

        // Each node walks up until it meets one that is known to lead to a root.
        int[] reached = new int[parents.Length];
        for (int n = 0; n < parents.Length; n++)
        {
            int up = n;
            for (; up >= 0 && reached[up] == 0; up = parents[up])
            {
                reached[up] = n + 1;
            }

            if (up >= 0 && reached[up] == n + 1)
            {
                throw source.Fault($"node {up}", "is its own ancestor");
            }
        }
    }

    private static int[] Parents(MeshSource source, JsonElement nodes)
    {
        int count = nodes.GetArrayLength();
        int[] parents = new int[count];
        Array.Fill(parents, -1);
        int n = 0;
        foreach (JsonElement node in nodes.EnumerateArray())
        {
            if (node.ValueKind == JsonValueKind.Object && node.TryGetProperty("children", out JsonElement children)
                && children.ValueKind == JsonValueKind.Array)
            {
                foreach (JsonElement item in children.EnumerateArray())
                {
                    if (item.ValueKind != JsonValueKind.Number || !item.TryGetInt32(out int child) || child < 0 || child >= count)
                    {
                        throw source.Fault($"node {n}", $"child {item.GetRawText()} of {count} nodes");
                    }

                    if (parents[child] >= 0)
                    {
                        throw source.Fault($"node {child}", $"is a child of node {parents[child]} and of node {n}");
                    }

                    parents[child] = n;
                }
            }

            n++;
        }

        return parents;
    }
}
