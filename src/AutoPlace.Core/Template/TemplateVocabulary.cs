namespace AutoPlace.Template;

/// <summary>The words that stand for enumeration values in template files.</summary>
internal static class TemplateVocabulary
{
    public const string Format = "autoplace.template";
    public const int Version = 1;

    public static readonly (JointKind Value, string Word)[] Kinds =
    [
        (JointKind.Surface, "surface"), (JointKind.Pivot, "pivot"), (JointKind.RowParent, "row-parent"),
        (JointKind.Attachment, "attachment"), (JointKind.Other, "other"),
    ];

    public static readonly (Side Value, string Word)[] Sides =
        [(Side.Left, "left"), (Side.Right, "right"), (Side.Middle, "middle")];

    public static readonly (Ride Value, string Word)[] Rides =
    [
        (Ride.Skin, "skin"), (Ride.Eyes, "eyes"), (Ride.EyeballLeft, "eyeball-left"), (Ride.EyeballRight, "eyeball-right"),
        (Ride.TeethUpper, "teeth-upper"), (Ride.TeethLower, "teeth-lower"), (Ride.Tongue, "tongue"),
        (Ride.JawHinge, "jaw-hinge"), (Ride.Inner, "inner"),
    ];

    public static readonly (RotationPolicy Value, string Word)[] Policies =
    [
        (RotationPolicy.KeepWorld, "keep-world"), (RotationPolicy.KeepLocal, "keep-local"),
        (RotationPolicy.TurnWithSkin, "turn-with-skin"), (RotationPolicy.Aim, "aim"),
    ];

    public static string WordFor<T>((T Value, string Word)[] table, T value)
        where T : struct, Enum
    {
        foreach ((T candidate, string word) in table)
        {
            if (EqualityComparer<T>.Default.Equals(candidate, value))
            {
                return word;
            }
        }

        throw new ArgumentOutOfRangeException(nameof(value), value, "Not a value of the enumeration.");
    }
}
