using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.Calibration;

/// <summary>How a head lies in a file: in some axes, unit and place.</summary>
/// <param name="Turn">Turn from the head's axes to the file's.</param>
/// <param name="Unit">Length of the head's unit in the file's.</param>
/// <param name="Offset">The head's origin, file coordinates.</param>
internal sealed record FilePose(Quaternion Turn, float Unit, Vector3 Offset)
{
    private const float MostTilt = 15;

    /// <summary>Interocular distance of an adult in metres (Dodgson 2004, rounded); files are in metres, centimetres, millimetres, inches, or in no unit.</summary>
    private static readonly float[] Units = [0.063f, 6.3f, 63, 2.48f, 1];

    /// <summary>Draws a pose. Two in three are tilted by up to 15 degrees; half stand in glTF's axes, a quarter with Z up, the others in any axes.</summary>
    /// <param name="random">The head's stream.</param>
    /// <param name="interocularDistance">Interocular distance in the head's own unit.</param>
    public static FilePose Draw(SeededRandom random, float interocularDistance)
    {
        const int ZUp = 16; // any of the four turns about the front with the front along an axis
        int axes = random.Unit() switch { < 0.5f => 0, < 0.75f => ZUp, _ => random.Whole(0, 23) };
        float tilt = random.Chance(2 / 3f) ? random.Uniform(0, MostTilt) : 0;
        var about = Vector3.Normalize(new Vector3(random.Normal(), random.Normal(), random.Normal()));
        var turn = Quaternion.Normalize(PoseSampler.AxisFrame(axes) * Quaternion.CreateFromAxisAngle(about, tilt * MathF.PI / 180));
        float unit = Units[random.Whole(0, Units.Length - 1)] * random.LogUniform(0.8f, 1.25f);
        Vector3 offset = random.Chance(0.5f) ? Vector3.Zero : unit * new Vector3(random.Uniform(-5, 5), random.Uniform(-5, 5), random.Uniform(-5, 5));
        return new FilePose(turn, unit / interocularDistance, offset);
    }

    /// <summary>A point of the head in file coordinates.</summary>
    public Vector3 Apply(Vector3 point) => (Vector3.Transform(point, Turn) * Unit) + Offset;

    /// <summary>The same in double precision.</summary>
    public Vector3d Apply(Vector3d point) => (TurnMatrix * point * Unit) + (Vector3d)Offset;

    /// <summary>The turn as a matrix on column vectors.</summary>
    public Matrix3d TurnMatrix => Matrix3d.FromColumns(
        (Vector3d)Vector3.Transform(Vector3.UnitX, Turn), (Vector3d)Vector3.Transform(Vector3.UnitY, Turn), (Vector3d)Vector3.Transform(Vector3.UnitZ, Turn));
}
