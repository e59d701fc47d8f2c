using System.Numerics;
using AutoPlace.Import;
using CsCheck;
using Xunit;

namespace AutoPlace.Tests.Import;

public sealed class VertexWeldingTests
{
    [Fact]
    public void Each_vertex_gets_the_first_one_at_its_place_and_in_its_group() => Gen.Select(
        Gen.Int[-3, 3].Array[0, 2000], Gen.Int[1, 4], Gen.Bool).Sample(
        (numbers, groupCount, grouped) =>
        {
            float[] values = [-1e-30f, -1, float.NegativeZero, 0, 1e-30f, 1, 1.0000001f];
            var positions = new Vector3[numbers.Length / 3];
            int[] groups = grouped ? new int[positions.Length] : [];
            for (int v = 0; v < positions.Length; v++)
            {
                positions[v] = new(values[numbers[3 * v] + 3], values[numbers[(3 * v) + 1] + 3], values[numbers[(3 * v) + 2] + 3]);
                if (grouped)
                {
                    groups[v] = Math.Abs(numbers[3 * v]) % groupCount;
                }
            }

            int[] first = new int[positions.Length];
            int unique = VertexWelding.FirstOfEach(positions, groups, first);

            var seen = new Dictionary<(float, float, float, int), int>();
            for (int v = 0; v < positions.Length; v++)
            {
                var key = (positions[v].X + 0, positions[v].Y + 0, positions[v].Z + 0, grouped ? groups[v] : 0);
                seen.TryAdd(key, v);
                Assert.Equal(seen[key], first[v]);
            }

            Assert.Equal(seen.Count, unique);
        },
        iter: 100);

    [Fact]
    public void Many_different_places_stay_apart()
    {
        var positions = new Vector3[100_000];
        for (int v = 0; v < positions.Length; v++)
        {
            positions[v] = new(v % 50, v / 50 % 40, v / 2000);
        }

        int[] first = new int[positions.Length];
        Assert.Equal(positions.Length, VertexWelding.FirstOfEach(positions, [], first));
        Assert.Equal(Enumerable.Range(0, positions.Length), first);
    }
}
