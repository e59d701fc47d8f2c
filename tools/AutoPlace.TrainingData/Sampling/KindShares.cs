using System.Globalization;

namespace AutoPlace.TrainingData.Sampling;

/// <summary>How often each kind of example comes.</summary>
/// <param name="Realistic">Weight of realistic heads.</param>
/// <param name="StrongWarp">Weight of strongly warped heads.</param>
/// <param name="Stylised">Weight of stylised heads.</param>
/// <param name="WrongFrame">Share of a head's views that are taken in a wrong frame or crop.</param>
/// <param name="NonHead">Share of examples without a head.</param>
internal sealed record KindShares(float Realistic, float StrongWarp, float Stylised, float WrongFrame, float NonHead)
{
    /// <summary>The mix for training: together 23 % of views are negatives.</summary>
    public static KindShares Standard { get; } = new(0.30f, 0.22f, 0.48f, 0.12f, 0.12f);

    /// <summary>Reads "realistic=0.3,stylised=0.5"; kinds left out get zero, a kind without a number 1 (negatives: 0.1).</summary>
    /// <exception cref="FormatException">An unknown kind or a weight that isn't a number of at least zero.</exception>
    public static KindShares Parse(string text)
    {
        var shares = new KindShares(0, 0, 0, 0, 0);
        foreach (string item in text.Split(',', StringSplitOptions.RemoveEmptyEntries | StringSplitOptions.TrimEntries))
        {
            string[] sides = item.Split('=');
            bool negative = sides[0] is "wrong-frame" or "non-head";
            float weight = negative ? 0.1f : 1;
            if (sides.Length > 2 || (sides.Length == 2
                && !(float.TryParse(sides[1], NumberStyles.Float, CultureInfo.InvariantCulture, out weight) && weight >= 0)))
            {
                throw new FormatException($"'{item}' is not kind=weight");
            }

            shares = sides[0] switch
            {
                "realistic" => shares with { Realistic = weight },
                "strong" => shares with { StrongWarp = weight },
                "stylised" => shares with { Stylised = weight },
                "wrong-frame" => shares with { WrongFrame = weight },
                "non-head" => shares with { NonHead = weight },
                _ => throw new FormatException($"unknown kind '{sides[0]}'; known: realistic, strong, stylised, wrong-frame, non-head"),
            };
        }

        return shares.Realistic + shares.StrongWarp + shares.Stylised + shares.NonHead > 0
            ? shares
            : throw new FormatException($"'{text}' names no kind of head");
    }

    /// <summary>Draws the kind of a head.</summary>
    public HeadKind Draw(SeededRandom random)
    {
        if (random.Chance(NonHead))
        {
            return HeadKind.NonHead;
        }

        float u = random.Unit() * (Realistic + StrongWarp + Stylised);
        return u < Realistic ? HeadKind.Realistic : u < Realistic + StrongWarp ? HeadKind.StrongWarp : HeadKind.Stylised;
    }
}
