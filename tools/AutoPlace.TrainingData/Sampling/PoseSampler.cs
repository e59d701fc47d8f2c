using System.Numerics;
using AutoPlace.Rendering;

namespace AutoPlace.TrainingData.Sampling;

/// <summary>One view of a head and what it is good for.</summary>
/// <param name="View">The view, head frame, interocular distances.</param>
/// <param name="Close">The close crop, else the whole head.</param>
/// <param name="Facing">Shows a head from the front, upright, in roughly this crop.</param>
/// <param name="WrongFrame">Taken in another axis frame or crop: an example of what isn't a face.</param>
/// <param name="YawDegrees">Yaw at which it was aimed.</param>
/// <param name="PitchDegrees">Pitch at which it was aimed.</param>
internal readonly record struct SampledView(
    OrthographicView View, bool Close, bool Facing, bool WrongFrame, float YawDegrees, float PitchDegrees);

/// <summary>Draws views: those that the product takes, jittered, plus turned, wrong and badly cropped ones.</summary>
internal sealed class PoseSampler
{
    /// <summary>Pixels a side of the network's input.</summary>
    public const int ImageSize = 256;

    private const float WholeHalfSize = 2.0f;
    private const float CloseHalfSize = 1.35f;
    private const float FacingYaw = 60;
    private const float FacingTilt = 35;
    private const int UpsideDown = 2, FromBehind = 8; // axis frames
    private static readonly Vector3 WholeCentre = new(0, -0.55f, -0.5f);
    private static readonly Vector3 CloseCentre = new(0, -0.70f, 0.30f);

    private readonly SeededRandom _random;
    private readonly Quaternion _headJitter;
    private readonly Quaternion _closeHeadJitter;
    private readonly float _wrongFrames;

    /// <summary>Draws the head's own error of frame, which all of its views share.</summary>
    /// <param name="random">The head's stream.</param>
    /// <param name="wrongFrames">Share of views in a wrong frame or crop.</param>
    public PoseSampler(SeededRandom random, float wrongFrames)
    {
        _random = random;
        _wrongFrames = wrongFrames;
        _headJitter = Jitter(8);
        _closeHeadJitter = Jitter(3);
    }

    /// <summary>Draws the next view.</summary>
    public SampledView Next()
    {
        bool close = _random.Chance(0.4f);
        if (_random.Chance(_wrongFrames))
        {
            return Wrong(close);
        }

        (float yaw, float pitch, Quaternion extra) = Direction(close);
        float scale = close ? _random.LogUniform(0.85f, 1.2f) : _random.LogUniform(0.78f, 1.3f);
        float shift = close ? 0.12f : 0.35f;
        Quaternion frame = close
            ? _closeHeadJitter * Jitter(6)
            : _headJitter * Jitter(8) * extra;
        return Aim(close, yaw, pitch, frame, scale, Shift(shift), wrong: false);
    }

    // The product looks from 0 and +-35 degrees; steeper and random directions teach the network its limits.
    private (float Yaw, float Pitch, Quaternion Extra) Direction(bool close)
    {
        float u = _random.Unit();
        if (close)
        {
            return (u < 0.45f ? 0 : u < 0.725f ? -35 : 35, 0, Quaternion.Identity);
        }

        return u switch
        {
            < 0.34f => (0, 0, Quaternion.Identity),
            < 0.54f => (-35, 0, Quaternion.Identity),
            < 0.74f => (35, 0, Quaternion.Identity),
            < 0.79f => (-70, 0, Quaternion.Identity),
            < 0.84f => (70, 0, Quaternion.Identity),
            < 0.87f => (0, 25, Quaternion.Identity),
            < 0.90f => (0, -25, Quaternion.Identity),
            _ => (0, 0, RandomTurn(60)),
        };
    }

    private SampledView Wrong(bool close)
    {
        if (_random.Chance(0.16f))
        {
            float scale = _random.Chance(0.5f) ? _random.LogUniform(1.9f, 4f) : _random.LogUniform(0.25f, 0.5f);
            return Aim(close, 0, 0, _headJitter, scale, Shift(0.5f), wrong: true);
        }

        if (_random.Chance(0.08f))
        {
            var direction = Vector3.Normalize(new Vector3(_random.Normal(), _random.Normal(), _random.Normal()));
            return Aim(close, 0, 0, _headJitter, _random.LogUniform(0.78f, 1.3f), direction * _random.Uniform(1.3f, 2.5f), wrong: true);
        }

        // Half are upside down or seen from behind, which is what heads are most often mistaken in. A head on a body lies
        // near the image's edge when the body's other end is taken for it.
        int frame = _random.Unit() switch { < 0.4f => UpsideDown, < 0.55f => FromBehind, _ => _random.Whole(1, 23) };
        Vector3 shift = Shift(0.35f);
        shift.Y += frame == UpsideDown && _random.Chance(0.3f) ? _random.Uniform(-1.2f, 1.2f) : 0;
        return Aim(close, 0, 0, AxisFrame(frame) * Jitter(8), _random.LogUniform(0.78f, 1.3f), shift, wrong: true);
    }

    private static SampledView Aim(
        bool close, float yaw, float pitch, Quaternion frame, float scale, Vector3 shift, bool wrong)
    {
        float halfSize = (close ? CloseHalfSize : WholeHalfSize) * scale;
        OrthographicView aimed = OrthographicView.Around(close ? CloseCentre : WholeCentre, yaw, pitch, halfSize, ImageSize);
        var view = new OrthographicView(
            aimed.Centre + shift,
            Vector3.Transform(aimed.Right, frame),
            Vector3.Transform(aimed.Up, frame),
            Vector3.Transform(aimed.Toward, frame),
            halfSize,
            ImageSize);
        return new(view, close, !wrong && IsFacing(view), wrong, yaw, pitch);
    }

    private static bool IsFacing(in OrthographicView view)
    {
        float yaw = MathF.Atan2(MathF.Abs(view.Toward.X), view.Toward.Z) * 180 / MathF.PI;
        float tilt = MathF.Acos(Math.Clamp(view.Up.Y, -1, 1)) * 180 / MathF.PI;
        return yaw <= FacingYaw && tilt <= FacingTilt;
    }

    private Vector3 Shift(float reach) =>
        new(_random.Uniform(-reach, reach), _random.Uniform(-reach, reach), _random.Uniform(-reach, reach));

    private Quaternion Jitter(float degrees)
    {
        float Angle() => _random.Uniform(-degrees, degrees) * MathF.PI / 180;
        return Quaternion.CreateFromYawPitchRoll(Angle(), Angle(), Angle());
    }

    private Quaternion RandomTurn(float degrees)
    {
        var axis = new Vector3(_random.Normal(), _random.Normal(), _random.Normal());
        return Quaternion.CreateFromAxisAngle(Vector3.Normalize(axis), _random.Uniform(0, degrees) * MathF.PI / 180);
    }

    /// <summary>One of the 24 turns that map axes to axes; 0 is the identity.</summary>
    internal static Quaternion AxisFrame(int index)
    {
        // Six directions for the front, four turns about it.
        Quaternion front = (index / 4) switch
        {
            0 => Quaternion.Identity,
            1 => Quaternion.CreateFromAxisAngle(Vector3.UnitY, MathF.PI / 2),
            2 => Quaternion.CreateFromAxisAngle(Vector3.UnitY, MathF.PI),
            3 => Quaternion.CreateFromAxisAngle(Vector3.UnitY, -MathF.PI / 2),
            4 => Quaternion.CreateFromAxisAngle(Vector3.UnitX, MathF.PI / 2),
            _ => Quaternion.CreateFromAxisAngle(Vector3.UnitX, -MathF.PI / 2),
        };
        return front * Quaternion.CreateFromAxisAngle(Vector3.UnitZ, index % 4 * MathF.PI / 2);
    }
}
