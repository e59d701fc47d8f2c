using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Annotation;
using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.TrainingData.Sampling;

/// <summary>
/// Warps of the whole head: proportions far beyond those of the morphable model, as stylised characters have them.
/// Ranges are those of a feasibility trial; a strength below one narrows them (logarithmically for factors).
/// </summary>
internal sealed class WarpSampler
{
    private static readonly int EyeLeft = LandmarkNames.IndexOf("eye_centre_left");
    private static readonly int EyeRight = LandmarkNames.IndexOf("eye_centre_right");
    private static readonly int Nasion = LandmarkNames.IndexOf("nasion");
    private static readonly int Subnasale = LandmarkNames.IndexOf("subnasale");
    private static readonly int Alare = LandmarkNames.IndexOf("alare_left");
    private static readonly int Stomion = LandmarkNames.IndexOf("stomion");
    private static readonly int Menton = LandmarkNames.IndexOf("menton");
    private static readonly int TragionLeft = LandmarkNames.IndexOf("tragion_left");
    private static readonly int TragionRight = LandmarkNames.IndexOf("tragion_right");

    private readonly MorphableModel _model;
    private readonly LandmarkCarrier _carrier;
    private readonly SeededRandom _random;
    private readonly float _strength;
    private readonly Vector3[] _landmarks;

    /// <summary>Prepares warps for one head.</summary>
    /// <param name="model">The model whose vertices are warped.</param>
    /// <param name="carrier">Finds landmarks, which centre the warps.</param>
    /// <param name="random">The head's stream.</param>
    /// <param name="strength">1 for the full ranges.</param>
    public WarpSampler(MorphableModel model, LandmarkCarrier carrier, SeededRandom random, float strength)
    {
        (_model, _carrier, _random, _strength) = (model, carrier, random, strength);
        _landmarks = new Vector3[carrier.Count];
    }

    /// <summary>Draws warps and applies them.</summary>
    /// <param name="positions">V positions of a head in centimetres; warped in place.</param>
    public void Apply(Span<Vector3> positions)
    {
        Refresh(positions);
        if (_random.Chance(0.10f))
        {
            MakeChildlike(positions);
        }

        if (_random.Chance(0.12f * _strength))
        {
            DrawMuzzle(positions);
        }

        if (_random.Chance(0.60f))
        {
            WarpEyes(positions, Factor(0.7f, 1.9f));
        }

        if (_random.Chance(0.65f))
        {
            Vector3 bridge = (_landmarks[Nasion] + _landmarks[Subnasale]) / 2;
            ScaleAbout(positions, bridge with { Z = _landmarks[Alare].Z - 1 }, 5, new Vector3(Factor(0.25f, 1.7f)));
        }

        if (_random.Chance(0.50f))
        {
            float size = Factor(0.5f, 1.6f);
            ScaleAbout(positions, _landmarks[Stomion], 5.5f, new Vector3(size, size * Factor(0.8f, 1.25f), MathF.Sqrt(size)));
        }

        if (_random.Chance(0.60f))
        {
            ScaleJaw(positions, Factor(0.6f, 1.5f));
        }

        if (_random.Chance(0.50f))
        {
            MoveChin(positions, _strength * _random.Uniform(-1.6f, 2.2f), _strength * _random.Uniform(-1.6f, 1.6f));
        }

        if (_random.Chance(0.60f))
        {
            ScaleLowerFace(positions, Factor(0.5f, 1.25f));
        }

        if (_random.Chance(0.60f))
        {
            ScaleCranium(positions, Factor(0.85f, 1.7f));
        }

        if (_random.Chance(0.40f))
        {
            float size = Factor(0.4f, 2.2f);
            Refresh(positions);
            ScaleAbout(positions, _landmarks[TragionLeft], 5.5f, new Vector3(size));
            ScaleAbout(positions, _landmarks[TragionRight], 5.5f, new Vector3(size));
        }

        if (_random.Chance(0.50f))
        {
            ScaleNeck(positions, Factor(0.35f, 1.5f));
        }

        if (_random.Chance(0.35f))
        {
            Refresh(positions);
            ReliefFlattening.Apply(_model, _carrier, positions, _strength * _random.Uniform(0.1f, 0.75f));
        }

        ApplyFields(positions);
        if (_random.Chance(0.35f))
        {
            MoveFeatures(positions);
        }

        ApplyLinear(positions);
    }

    // High cranium, low face, large eyes, small nose, mouth and jaw, full cheeks, thin neck.
    private void MakeChildlike(Span<Vector3> positions)
    {
        float age = _random.Uniform(0.25f, 1) * MathF.Max(0.5f, _strength);
        float Towards(float factor) => MathF.Pow(factor, age);
        WarpEyes(positions, Towards(1.6f));
        Vector3 bridge = (_landmarks[Nasion] + _landmarks[Subnasale]) / 2;
        ScaleAbout(positions, bridge with { Z = _landmarks[Alare].Z - 1 }, 5, new Vector3(Towards(0.55f)));
        ScaleAbout(positions, _landmarks[Stomion], 5.5f, new Vector3(Towards(0.75f)));
        ScaleJaw(positions, Towards(0.8f));
        ScaleLowerFace(positions, Towards(0.72f));
        ScaleCranium(positions, Towards(1.45f));
        ScaleNeck(positions, Towards(0.6f));
        float full = age * _random.Uniform(0, 0.9f);
        Vector3 cheek = _landmarks[Stomion] + new Vector3(4.5f, 0.8f, -1.8f);
        BumpField.Apply(positions, [new(cheek, new(full, 0, 0.5f * full), 4), new(cheek with { X = -cheek.X }, new(-full, 0, 0.5f * full), 4)]);
        Refresh(positions);
    }

    // Nose and mouth drawn forward, as animals' faces have them.
    private void DrawMuzzle(Span<Vector3> positions)
    {
        float length = _random.Uniform(0.8f, 4.5f) * _strength, drop = _random.Uniform(-0.8f, 0.8f), narrow = _random.Uniform(0, 0.25f);
        Vector3 centre = Vector3.Lerp(_landmarks[Subnasale], _landmarks[Stomion], _random.Uniform(0, 0.8f));
        float radius = _random.Uniform(4.5f, 7);
        foreach (ref Vector3 p in positions)
        {
            Vector3 d = p - centre;
            float weight = MathF.Sqrt(Bump(d with { Z = 0.5f * d.Z }, radius));
            p += weight * new Vector3(-narrow * d.X, drop * weight, length);
        }

        Refresh(positions);
    }

    // Single features out of place: a raised mouth corner, a low brow, a nose off the midline; most on one side only.
    private void MoveFeatures(Span<Vector3> positions)
    {
        float amplitude = 0.28f * MathF.Max(0.6f, _strength);
        int count = _random.Whole(1, 4);
        Refresh(positions);
        for (int i = 0; i < count; i++)
        {
            int feature = _random.Whole(0, _landmarks.Length - 1);
            Vector3 centre = _landmarks[feature];
            Vector3 shift = amplitude * new Vector3(_random.Normal(), _random.Normal(), 0.5f * _random.Normal());
            float radius = _random.Uniform(1.8f, 4.5f);
            bool both = _random.Chance(0.35f);
            BumpField.Bump own = new(centre, shift, radius);
            ReadOnlySpan<BumpField.Bump> bumps = both ? [own, new(centre with { X = -centre.X }, shift with { X = -shift.X }, radius)] : [own];
            BumpField.Apply(positions, bumps);
        }
    }

    // Factors are drawn on a logarithmic scale, narrowed by the strength.
    private float Factor(float from, float to) =>
        MathF.Exp(_strength * _random.Uniform(MathF.Log(from), MathF.Log(to)));

    private void Refresh(ReadOnlySpan<Vector3> positions) => _carrier.Carry(positions, _landmarks);

    private void WarpEyes(Span<Vector3> positions, float size)
    {
        float radius = 1.6f * _random.Uniform(2.5f, 4.5f);
        float apart = _strength * _random.Uniform(-0.5f, 0.8f), up = _strength * _random.Uniform(-0.8f, 0.8f);
        Vector3 left = _landmarks[EyeLeft], right = _landmarks[EyeRight];
        foreach (ref Vector3 p in positions)
        {
            Vector3 fromLeft = p - left, fromRight = p - right;
            float weightLeft = Bump(fromLeft, radius), weightRight = Bump(fromRight, radius);
            p += (weightLeft * (((size - 1) * fromLeft) + new Vector3(apart, up, 0)))
                + (weightRight * (((size - 1) * fromRight) + new Vector3(-apart, up, 0)));
        }

        Refresh(positions);
    }

    private void ScaleAbout(Span<Vector3> positions, Vector3 centre, float radius, Vector3 factor)
    {
        foreach (ref Vector3 p in positions)
        {
            Vector3 d = p - centre;
            p += Bump(d, radius) * (factor - Vector3.One) * d;
        }

        Refresh(positions);
    }

    private void ScaleJaw(Span<Vector3> positions, float factor)
    {
        float top = _landmarks[Subnasale].Y + 1, bottom = _landmarks[Menton].Y;
        foreach (ref Vector3 p in positions)
        {
            float weight = SmoothStep(top, bottom, p.Y) * SmoothStep(bottom - 6, bottom - 1, p.Y);
            p.X *= 1 + ((factor - 1) * weight);
        }

        Refresh(positions);
    }

    private void MoveChin(Span<Vector3> positions, float lengthCm, float depthCm)
    {
        float top = _landmarks[Stomion].Y, bottom = _landmarks[Menton].Y, front = _landmarks[Menton].Z;
        foreach (ref Vector3 p in positions)
        {
            float weight = SmoothStep(top, bottom, p.Y) * SmoothStep(bottom - 7, bottom - 1.5f, p.Y) * SmoothStep(front - 9, front - 2, p.Z);
            p.Y -= lengthCm * weight;
            p.Z += depthCm * weight;
        }

        Refresh(positions);
    }

    // Height below the eyes, blending in over one centimetre; what lies below the chin moves along.
    private void ScaleLowerFace(Span<Vector3> positions, float factor)
    {
        float eyes = _landmarks[EyeLeft].Y, height = eyes - _landmarks[Menton].Y;
        foreach (ref Vector3 p in positions)
        {
            float below = Math.Clamp(eyes - p.Y, 0, height);
            float knee = below * below / (below + 1);
            p.Y -= (factor - 1) * knee;
        }

        Refresh(positions);
    }

    private void ScaleCranium(Span<Vector3> positions, float factor)
    {
        float eyes = _landmarks[EyeLeft].Y;
        var centre = new Vector3(0, eyes, (_landmarks[EyeLeft].Z + _landmarks[TragionLeft].Z) / 2);
        foreach (ref Vector3 p in positions)
        {
            p = centre + ((p - centre) * (1 + ((factor - 1) * SmoothStep(eyes - 0.5f, eyes + 5, p.Y))));
        }

        Refresh(positions);
    }

    private void ScaleNeck(Span<Vector3> positions, float factor)
    {
        float chin = _landmarks[Menton].Y, axis = _landmarks[TragionLeft].Z - 1.5f;
        foreach (ref Vector3 p in positions)
        {
            float weight = (factor - 1) * SmoothStep(chin + 3, chin - 3, p.Y) * SmoothStep(axis + 11, axis + 7, p.Z);
            p.X *= 1 + weight;
            p.Z += weight * (p.Z - axis);
        }

        Refresh(positions);
    }

    private void ApplyFields(Span<Vector3> positions)
    {
        bool mirrored = _random.Chance(0.65f);
        if (_random.Chance(0.80f))
        {
            AddField(positions, _random.Whole(4, 12), 3.5f, 6, 0.9f * _strength, mirrored);
        }

        if (_random.Chance(0.60f))
        {
            AddField(positions, _random.Whole(6, 20), 1.8f, 3, 0.35f * _strength, mirrored);
        }
    }

    private void AddField(Span<Vector3> positions, int count, float sigmaFrom, float sigmaTo, float amplitudeCm, bool mirrored)
    {
        int total = mirrored ? 2 * count : count;
        Span<BumpField.Bump> bumps = stackalloc BumpField.Bump[total];
        for (int i = 0; i < count; i++)
        {
            Vector3 centre = _model.MeanPositions[_random.Whole(0, _model.Layout.PartFirst[(int)Part.MouthSocket] - 1)];
            Vector3 shift = amplitudeCm * new Vector3(_random.Normal(), _random.Normal(), _random.Normal());

            // A bump (1 - d^2/R^2)^2 of this radius has about the width of a Gaussian of that sigma.
            float radius = 2.2f * _random.Uniform(sigmaFrom, sigmaTo);
            bumps[i] = new(centre, shift, radius);
            if (mirrored)
            {
                bumps[count + i] = new(centre with { X = -centre.X }, shift with { X = -shift.X }, radius);
            }
        }

        BumpField.Apply(positions, bumps);
    }

    private void ApplyLinear(Span<Vector3> positions)
    {
        float Stretch() => MathF.Exp(0.13f * _strength * _random.Normal());
        var scale = new Vector3(Stretch(), Stretch(), Stretch());
        (float xy, float zy) = _random.Chance(0.3f)
            ? (0.03f * _strength * _random.Normal(), 0.12f * _strength * _random.Normal())
            : (0, 0);
        foreach (ref Vector3 p in positions)
        {
            p = scale * new Vector3(p.X + (xy * p.Y), p.Y, p.Z + (zy * p.Y));
        }
    }

    /// <summary>(1 - d^2/R^2)^2 inside the radius, 0 outside.</summary>
    internal static float Bump(Vector3 d, float radius)
    {
        float rest = 1 - (d.LengthSquared() / (radius * radius));
        return rest > 0 ? rest * rest : 0;
    }

    /// <summary>0 at <paramref name="from"/>, 1 at <paramref name="to"/> (which may be the smaller), cubic between.</summary>
    internal static float SmoothStep(float from, float to, float value)
    {
        float t = Math.Clamp((value - from) / (to - from), 0, 1);
        return t * t * (3 - (2 * t));
    }
}
