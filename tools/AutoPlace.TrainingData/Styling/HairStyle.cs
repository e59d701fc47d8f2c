using System.Numerics;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>Hair of the head and face: shells over the skin, lifted skin, locks and blobs.</summary>
internal sealed class HairStyle
{
    private readonly SkinShell _shell;
    private readonly HeadRegions _regions;
    private readonly bool _hair;
    private readonly bool _lifted;
    private readonly bool _beard;
    private readonly bool _moustache;
    private readonly float _thickness;
    private readonly float _frontLine;
    private readonly float _sideDepth;
    private readonly float _napeLine;
    private readonly float _wave;
    private readonly float _phase;

    /// <summary>Draws a style.</summary>
    public HairStyle(SeededRandom random, SkinShell shell, HeadRegions regions)
    {
        (_shell, _regions) = (shell, regions);
        _hair = random.Chance(0.60f);
        _lifted = random.Chance(0.3f);
        _beard = random.Chance(0.18f);
        _moustache = random.Chance(0.08f);
        _thickness = random.LogUniform(0.15f, 2.8f);
        _frontLine = random.Uniform(7, 11);
        _sideDepth = random.Uniform(-1, 5);
        _napeLine = random.Uniform(-9, 3);
        _wave = random.Uniform(0, 0.6f);
        _phase = random.Uniform(0, 6.28f);
    }

    /// <summary>Lifts the skin itself where hair is modelled so. Called before assembly.</summary>
    public void Lift(HeadDraft draft)
    {
        if (_hair && _lifted)
        {
            _shell.Displace(draft, v => ScalpThickness(draft.Model, v));
        }
    }

    /// <summary>Appends shells, locks and blobs.</summary>
    /// <param name="draft">The head.</param>
    /// <param name="scalpOnly">No beard and no moustache.</param>
    public void Append(HeadDraft draft, bool scalpOnly = false)
    {
        if (_hair)
        {
            if (!_lifted)
            {
                _shell.Append(draft, v => ScalpThickness(draft.Model, v), Vector3.Zero, Stuff.Hair);
            }

            AppendBlobs(draft);
            AppendLocks(draft);
        }

        if (_beard && !scalpOnly)
        {
            if (draft.Random.Chance(0.4f))
            {
                AppendFullBeard(draft);
            }
            else
            {
                AppendBeard(draft);
            }
        }

        if (_moustache && !scalpOnly)
        {
            AppendMoustache(draft);
        }
    }

    // On the mean: above a line that runs from the forehead down behind the temples to the nape; thin at the border.
    private float ScalpThickness(MorphableModel model, int vertex)
    {
        if (_regions.EarWeight[vertex] > 0.05f)
        {
            return 0;
        }

        Vector3 p = model.MeanPositions[vertex];
        float above = p.Y - _frontLine;
        float temple = Math.Clamp((_frontLine - p.Y) / 8, 0, 1);
        float behind = _sideDepth + ((6.5f - _sideDepth) * (1 - temple)) - p.Z;
        float inside = MathF.Max(above, MathF.Min(behind, p.Y - _napeLine));
        inside += _wave * MathF.Sin((1.7f * p.X) + _phase) * MathF.Cos((1.3f * p.Y) - _phase);
        float relief = 1 + (_wave * MathF.Sin((0.9f * p.X) + (0.7f * p.Z) + _phase));
        return inside > 0 ? _thickness * relief * MathF.Min(1, 0.25f + (inside / 2.5f)) : 0;
    }

    private void AppendBlobs(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        if (!random.Chance(0.5f))
        {
            return;
        }

        int count = random.Whole(1, 25), tries = 0;
        float size = random.LogUniform(0.8f, 3.5f), stretch = random.LogUniform(0.6f, 2.5f);
        int rings = random.Whole(3, 7);
        int end = draft.Model.Layout.Range(Part.Scalp, draft.Model.VertexCount).End;
        while (count > 0 && tries++ < 2000)
        {
            int v = random.Whole(0, end - 1);
            if (ScalpThickness(draft.Model, v) <= 0)
            {
                continue;
            }

            count--;
            Vector3 radii = size * new Vector3(random.Uniform(0.6f, 1.3f), stretch * random.Uniform(0.6f, 1.3f), random.Uniform(0.6f, 1.3f));
            Primitives.Ellipsoid(draft.Mesh, draft.Shape[v], radii, RandomTurn.Any(random), rings, Stuff.Hair);
        }
    }

    // Hanging masses at the sides and the back, and strands over the forehead.
    private static void AppendLocks(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        Vector3 ear = draft.Landmark("tragion_left");
        if (random.Chance(0.30f))
        {
            float length = random.Uniform(3, 14), thick = random.Uniform(0.8f, 2.2f), wide = random.Uniform(1.5f, 4.5f);
            float top = random.Uniform(2, 7), forward = random.Uniform(-3, 3);
            var exponents = new Vector2(random.Uniform(0.4f, 1), random.Uniform(0.4f, 1));
            foreach (float side in (ReadOnlySpan<float>)[1, -1])
            {
                var centre = new Vector3(side * (MathF.Abs(ear.X) + (0.6f * thick)), ear.Y + top - length, ear.Z + forward);
                Primitives.Superquadric(
                    draft.Mesh, centre, new(thick, length, wide), RandomTurn.Within(random, 0.15f), exponents, random.Whole(4, 7), Stuff.Hair);
            }
        }

        if (random.Chance(0.15f))
        {
            float length = random.Uniform(5, 16);
            var centre = new Vector3(0, ear.Y + 4 - length, ear.Z - random.Uniform(6, 11));
            Primitives.Ellipsoid(
                draft.Mesh, centre, new(random.Uniform(2, 10), length, random.Uniform(1.5f, 4)), RandomTurn.Within(random, 0.2f), 6, Stuff.Hair);
        }

        if (random.Chance(0.25f))
        {
            AppendFringe(draft);
        }

        if (random.Chance(0.15f))
        {
            AppendCurtain(draft);
        }
    }

    // Long strands from the hairline over brow, temple and cheek, on one side or both; some cover an eye.
    private static void AppendCurtain(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        Vector3 glabella = draft.Landmark("glabella"), temple = draft.Landmark("exocanthion_left");
        float unit = 2 * MathF.Abs(draft.Landmark("eye_centre_left").X), slope = (glabella.Z - temple.Z) / MathF.Max(1, temple.X * temple.X);
        int rings = random.Whole(3, 7);
        float hang = unit * random.Uniform(0.7f, 2.6f), inner = random.Uniform(0.25f, 0.95f), width = unit * random.Uniform(0.08f, 0.25f);
        bool both = random.Chance(0.6f);
        float only = random.Sign();
        foreach (float side in (ReadOnlySpan<float>)[1, -1])
        {
            int count = both || side == only ? random.Whole(1, 6) : 0;
            for (int i = 0; i < count; i++)
            {
                float x = unit * random.Uniform(inner, 1.25f), across = x - (unit * random.Uniform(-0.1f, 0.25f)), length = hang * random.Uniform(0.7f, 1.2f);
                float Front(float at) => glabella.Z - (slope * at * at) + (0.6f * width);
                Span<Vector3> points =
                [
                    new(side * 0.5f * across, glabella.Y + (0.85f * unit), Front(0.5f * across) - (0.25f * unit)),
                    new(side * across, glabella.Y + (0.2f * unit), Front(across) + 0.2f),
                    new(side * x, glabella.Y - (0.5f * length), Front(x)),
                    new(side * (x + (unit * random.Uniform(-0.25f, 0.1f))), glabella.Y - length, Front(x)),
                ];
                Span<Vector2> radii = [new(width, width), new(width, 0.8f * width), new(width, 0.7f * width), new(0.1f, 0.1f)];
                Primitives.Tube(draft.Mesh, points, radii, Vector3.UnitZ, rings, closed: false, Stuff.Hair);
            }
        }
    }

    private static void AppendFringe(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        Vector3 glabella = draft.Landmark("glabella");
        float unit = MathF.Abs(draft.Landmark("eye_centre_left").X);
        int count = random.Whole(2, 9), rings = random.Whole(3, 6);
        float hang = random.Uniform(1, 5.5f), width = random.Uniform(0.5f, 1.6f);
        for (int i = 0; i < count; i++)
        {
            float x = random.Uniform(-1.6f, 1.6f) * unit;
            float z = glabella.Z - (0.045f * x * x) + random.Uniform(-0.3f, 0.6f);
            var top = new Vector3(x, glabella.Y + 5, z - 1.5f);
            Span<Vector3> points = [top, new(x, glabella.Y + 2.5f, z), new(x + random.Uniform(-1, 1), glabella.Y + 5 - hang - random.Uniform(0, 1.5f), z + 0.3f)];
            Span<Vector2> radii = [new(width, width * 1.2f), new(width * 0.6f, width), new(0.1f, 0.1f)];
            Primitives.Tube(draft.Mesh, points, radii, Vector3.UnitZ, rings + 1, closed: false, Stuff.Hair);
        }
    }

    private void AppendBeard(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        MorphableModel model = draft.Model;
        Vector3 lip = model.Landmarks["cheilion_left"], chin = model.Landmarks["menton"], tragion = model.Landmarks["tragion_left"];
        float thickness = random.LogUniform(0.2f, 2.2f), hang = random.Chance(0.4f) ? random.Uniform(0.3f, 2.5f) : 0;
        float line = random.Uniform(-1.2f, 1), sideburn = random.Chance(0.6f) ? 0.45f : 0;
        float narrow = random.Chance(0.3f) ? random.Uniform(2, 4) : 20;
        _shell.Append(
            draft,
            v =>
            {
                Vector3 p = model.MeanPositions[v];
                float height = lip.Y + line + (sideburn * MathF.Max(0, MathF.Abs(p.X) - lip.X));
                float inside = MathF.Min(MathF.Min(height - p.Y, p.Y - chin.Y + 1.6f), MathF.Min(p.Z - tragion.Z - 1, narrow - MathF.Abs(p.X)));
                bool free = _regions.InLips[v] || _regions.MouthDistance[v] < 0.5f || _regions.EarWeight[v] > 0;
                return free || inside <= 0 ? 0 : thickness * MathF.Min(1, 0.2f + (inside / 2));
            },
            new Vector3(0, -hang, 0),
            Stuff.Hair);
    }

    // Beard and moustache close over the lips: the mouth is the slit between them.
    private void AppendFullBeard(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        MorphableModel model = draft.Model;
        Vector3 corner = model.Landmarks["cheilion_left"], subnasale = model.Landmarks["subnasale"], chin = model.Landmarks["menton"];
        float back = model.Landmarks["tragion_left"].Z + random.Uniform(1, 4), stomion = model.Landmarks["stomion"].Y;
        float cheek = random.Uniform(-0.3f, 1.2f), slit = random.Chance(0.5f) ? random.Uniform(0.05f, 0.35f) : 0;
        float narrow = random.Chance(0.4f) ? random.Uniform(corner.X - 0.3f, corner.X + 1.5f) : 20;
        foreach (bool isUpper in random.Chance(0.85f) ? [true, false] : (ReadOnlySpan<bool>)[false])
        {
            float thickness = random.LogUniform(0.3f, 1.8f), hang = random.Chance(0.5f) ? random.Uniform(0.1f, isUpper ? 0.6f : 2) : 0;
            _shell.Append(
                draft,
                v =>
                {
                    Vector3 p = model.MeanPositions[v];
                    float aside = MathF.Max(0, MathF.Abs(p.X) - corner.X);
                    float top = isUpper ? subnasale.Y - 0.25f + (cheek * MathF.Min(1, aside)) : stomion + (aside > 0 ? 0.6f : 0.3f);
                    bool own = _regions.InLips[v] || MathF.Abs(p.X) < corner.X ? p.Y >= stomion == isUpper : !isUpper || p.Y > stomion - 0.4f;
                    float inside = MathF.Min(MathF.Min(top - p.Y, p.Y - chin.Y + 1.6f), MathF.Min(p.Z - back, narrow - MathF.Abs(p.X)));
                    return !own || inside <= 0 || _regions.MouthDistance[v] < slit || _regions.EarWeight[v] > 0
                        ? 0 : thickness * MathF.Min(1, 0.35f + inside);
                },
                new Vector3(0, -hang, 0),
                Stuff.Hair);
        }
    }

    private static void AppendMoustache(HeadDraft draft)
    {
        SeededRandom random = draft.Random;
        Vector3 subnasale = draft.Landmark("subnasale"), lip = draft.Landmark("labiale_superius");
        Vector3 centre = Vector3.Lerp(subnasale, lip, random.Uniform(0.4f, 0.8f));
        float reach = random.Uniform(0.6f, 1.5f), droop = random.Uniform(-1, 1.5f), size = random.Uniform(0.3f, 0.9f);
        int segments = random.Whole(4, 8);
        foreach (string side in (ReadOnlySpan<string>)["left", "right"])
        {
            Vector3 corner = draft.Landmark("cheilion_" + side);
            Vector3 end = Vector3.Lerp(centre, corner, reach) + new Vector3(0, -droop, 0.4f);
            Span<Vector3> points = [centre, Vector3.Lerp(centre, end, 0.5f) + new Vector3(0, 0.1f, 0.5f), end];
            Span<Vector2> radii = [new(size, 0.6f * size), new(size, 0.7f * size), new(0.15f, 0.15f)];
            Primitives.Tube(draft.Mesh, points, radii, Vector3.UnitY, segments, closed: false, Stuff.Hair);
        }
    }
}
