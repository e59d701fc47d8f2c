using System.Numerics;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>Solids that grow together or are carved: limbs, bones, bodies without a head, vessels, machine parts. About two units large.</summary>
internal sealed class CarvedThings
{
    private readonly ImplicitSolid _solid = new();

    /// <summary>Draws one and appends it about the origin.</summary>
    public void Append(WorkMesh mesh, SeededRandom random, Stuff stuff)
    {
        _solid.Clear();
        _solid.Blend = random.LogUniform(0.02f, 0.5f);
        switch (random.Whole(0, 19))
        {
            case 0 or 1 or 2:
                Blob(random);
                break;
            case 3 or 4:
                Hand(random);
                break;
            case 5:
                Foot(random);
                break;
            case 6 or 7:
                Body(random);
                break;
            case 8 or 9:
                Bone(random);
                break;
            case 10:
                Vertebra(random);
                break;
            case 11 or 12:
                Vessel(random);
                break;
            case 13 or 14 or 15:
                MachinePart(random);
                break;
            case 16:
                Block(random);
                break;
            default:
                Dented(random);
                break;
        }

        _solid.Append(mesh, random.Whole(14, 40), stuff);
    }

    private static Vector3 Somewhere(SeededRandom random, float spread) =>
        spread * new Vector3(random.Normal(), random.Normal(), random.Normal());

    private static Vector3 Direction(SeededRandom random) => Vector3.Normalize(Somewhere(random, 1) + new Vector3(1e-6f, 0, 0));

    private static Vector3 Sizes(SeededRandom random, float from, float to) =>
        new(random.LogUniform(from, to), random.LogUniform(from, to), random.LogUniform(from, to));

    private void Blob(SeededRandom random)
    {
        int count = random.Whole(2, 9);
        for (int i = 0; i < count; i++)
        {
            Vector3 centre = Somewhere(random, 0.5f);
            if (random.Chance(0.7f))
            {
                _solid.Ellipsoid(centre, Sizes(random, 0.2f, 0.7f), RandomTurn.Any(random));
            }
            else
            {
                _solid.Cone(centre, centre + Somewhere(random, 0.7f), random.Uniform(0.1f, 0.4f), random.Uniform(0.05f, 0.4f));
            }
        }
    }

    // Fingers of two joints on a palm.
    private void Hand(SeededRandom random)
    {
        _solid.Blend = random.Uniform(0.03f, 0.15f);
        float side = random.Sign(), thick = random.Uniform(0.1f, 0.16f), spread = random.Uniform(0, 0.35f);
        _solid.Ellipsoid(Vector3.Zero, new(0.5f, 0.55f, random.Uniform(0.15f, 0.25f)), Quaternion.Identity);
        _solid.Cone(new(0, -0.4f, 0), new(0, -random.Uniform(0.7f, 1.4f), 0), 0.3f, random.Uniform(0.2f, 0.35f));
        int fingers = random.Whole(3, 4);
        float fist = random.Chance(0.3f) ? random.Uniform(0.8f, 2.2f) : random.Uniform(-0.2f, 0.6f);
        for (int i = 0; i <= fingers; i++)
        {
            bool thumb = i == fingers;
            float across = thumb ? -0.45f * side : side * ((0.8f * i / MathF.Max(1, fingers - 1)) - 0.4f);
            float lean = thumb ? -side * random.Uniform(0.5f, 1.1f) : across * spread * 2, bend = fist * random.Uniform(0.6f, 1.2f);
            float length = thumb ? random.Uniform(0.3f, 0.4f) : random.Uniform(0.35f, 0.5f);
            var from = new Vector3(across, thumb ? -0.1f : 0.4f, 0);
            Vector3 middle = from + (length * Vector3.Normalize(new Vector3(lean, MathF.Cos(bend), MathF.Sin(bend))));
            Vector3 tip = middle + (0.85f * length * Vector3.Normalize(new Vector3(0.7f * lean, MathF.Cos(2 * bend), MathF.Sin(2 * bend))));
            _solid.Cone(from, middle, thick, 0.9f * thick);
            _solid.Cone(middle, tip, 0.9f * thick, 0.7f * thick);
        }
    }

    private void Foot(SeededRandom random)
    {
        _solid.Blend = random.Uniform(0.08f, 0.3f);
        float length = random.Uniform(0.7f, 1.1f), width = random.Uniform(0.22f, 0.35f);
        _solid.Cone(new(0, 0, -0.2f), new(0, random.Uniform(0.6f, 1.6f), -0.25f), random.Uniform(0.18f, 0.28f), random.Uniform(0.22f, 0.4f));
        _solid.Cone(new(0, 0, -0.25f), new(0, -0.1f, length), 0.25f, 0.17f);
        _solid.Ellipsoid(new(0, -0.08f, length), new(width, 0.15f, 0.3f), Quaternion.Identity);
        int toes = random.Chance(0.5f) ? 5 : 0;
        for (int i = 0; i < toes; i++)
        {
            float x = width * ((0.45f * i) - 0.9f);
            _solid.Cone(new(x, -0.12f, length + 0.1f), new(1.1f * x, -0.14f, length + 0.3f), 0.08f, 0.07f);
        }
    }

    // Trunk, arms and legs of a person or an animal, with or without a neck; no head.
    private void Body(SeededRandom random)
    {
        _solid.Blend = random.Uniform(0.05f, 0.3f);
        float wide = random.Uniform(0.25f, 0.5f), deep = wide * random.Uniform(0.5f, 1), waist = random.Uniform(0.6f, 1.1f);
        _solid.Ellipsoid(new(0, 0.45f, 0), new(wide, 0.4f, deep), Quaternion.Identity);
        _solid.Ellipsoid(new(0, -0.1f, 0), new(wide * waist, 0.4f, deep * waist), Quaternion.Identity);
        if (random.Chance(0.6f))
        {
            _solid.Cone(new(0, 0.7f, 0), new(0, 0.7f + random.Uniform(0.1f, 0.35f), 0.05f), 0.14f, 0.12f);
        }

        float arm = random.Uniform(0.07f, 0.17f), leg = random.Uniform(0.1f, 0.22f), raise = random.Uniform(-1, 1), stride = random.Uniform(-0.3f, 0.3f);
        bool armed = random.Chance(0.8f), legged = random.Chance(0.75f);
        foreach (float side in (ReadOnlySpan<float>)[1, -1])
        {
            if (armed)
            {
                var shoulder = new Vector3(side * wide, 0.65f, 0);
                Vector3 elbow = shoulder + new Vector3(side * 0.45f, 0.5f * raise, 0.1f);
                _solid.Cone(shoulder, elbow, arm, 0.85f * arm);
                _solid.Cone(elbow, elbow + new Vector3(side * 0.25f, 0.45f * raise, random.Uniform(-0.1f, 0.5f)), 0.85f * arm, 0.6f * arm);
            }

            if (legged)
            {
                var hip = new Vector3(side * 0.6f * wide, -0.35f, 0);
                var knee = new Vector3(side * 0.7f * wide, -0.9f, side * stride);
                _solid.Cone(hip, knee, leg, 0.8f * leg);
                _solid.Cone(knee, knee + new Vector3(0, -0.6f, -MathF.Abs(stride)), 0.8f * leg, 0.55f * leg);
            }
        }
    }

    // A shaft with knobs at both ends, some of them aside on a neck.
    private void Bone(SeededRandom random)
    {
        _solid.Blend = random.Uniform(0.1f, 0.3f);
        float shaft = random.Uniform(0.08f, 0.2f), bow = random.Uniform(-0.2f, 0.2f);
        var middle = new Vector3(bow, 0, 0);
        foreach (float side in (ReadOnlySpan<float>)[1, -1])
        {
            var end = new Vector3(0, side, 0);
            _solid.Cone(middle, end, shaft, shaft * random.Uniform(1, 1.5f));
            int knobs = random.Whole(1, 3);
            for (int i = 0; i < knobs; i++)
            {
                Vector3 knob = end + new Vector3(random.Uniform(-0.25f, 0.25f), side * random.Uniform(0, 0.2f), random.Uniform(-0.15f, 0.15f));
                _solid.Ellipsoid(knob, shaft * Sizes(random, 1, 1.9f), Quaternion.Identity);
            }

            if (random.Chance(0.4f))
            {
                Vector3 ball = end + new Vector3(random.Sign() * random.Uniform(0.25f, 0.4f), side * 0.2f, 0);
                _solid.Cone(end, ball, 0.8f * shaft, 0.7f * shaft);
                _solid.Ball(ball, shaft * random.Uniform(1.1f, 1.7f));
            }
        }
    }

    private void Vertebra(SeededRandom random)
    {
        _solid.Blend = random.Uniform(0.05f, 0.2f);
        _solid.Cylinder(Vector3.Zero, 0.45f, random.Uniform(0.15f, 0.4f), Quaternion.Identity);
        _solid.Torus(new(0, 0, -0.6f), 0.32f, random.Uniform(0.08f, 0.15f), Quaternion.Identity);
        int spikes = random.Whole(2, 6);
        for (int i = 0; i < spikes; i++)
        {
            float angle = MathF.PI * (0.6f + (1.8f * i / MathF.Max(1, spikes - 1)));
            var outward = new Vector3(MathF.Sin(angle - (0.5f * MathF.PI)), random.Uniform(-0.3f, 0.3f), -MathF.Abs(MathF.Cos(angle - (0.5f * MathF.PI))));
            Vector3 from = new Vector3(0, 0, -0.6f) + (0.35f * outward);
            _solid.Cone(from, from + (random.Uniform(0.3f, 0.8f) * outward), 0.13f, random.Uniform(0.04f, 0.12f));
        }
    }

    // A hollow pot, cup, box or bowl, some with handles, a spout or a lid.
    private void Vessel(SeededRandom random)
    {
        _solid.Blend = random.LogUniform(0.01f, 0.15f);
        float radius = random.Uniform(0.4f, 0.8f), half = random.Uniform(0.3f, 1), wall = random.Uniform(0.06f, 0.15f);
        int form = random.Whole(0, 2);
        Pot(radius, half);
        int handles = random.Whole(0, 2);
        float handle = random.Uniform(0.2f, 0.45f), thick = random.Uniform(0.05f, 0.1f);
        for (int i = 0; i < handles; i++)
        {
            _solid.Torus(new((i == 0 ? 1 : -1) * radius, random.Uniform(-0.2f, 0.2f), 0), handle, thick, Quaternion.CreateFromAxisAngle(Vector3.UnitX, MathF.PI / 2));
        }

        if (random.Chance(0.25f))
        {
            _solid.Cone(new(-radius, -0.3f * half, 0), new(-radius - random.Uniform(0.3f, 0.6f), random.Uniform(0.2f, 0.9f) * half, 0), 0.15f, 0.07f);
        }

        bool closed = random.Chance(0.3f);
        if (closed)
        {
            _solid.Cylinder(new(0, half, 0), radius * random.Uniform(0.9f, 1.1f), 0.05f, Quaternion.Identity);
            _solid.Ball(new(0, half + 0.15f, 0), random.Uniform(0.08f, 0.2f));
        }
        else
        {
            _solid.Carving = true;
            _solid.Cylinder(new(0, half, 0), radius * random.Uniform(0.6f, 0.9f), random.Uniform(0.3f, 1) * half, Quaternion.Identity);
        }

        void Pot(float r, float h)
        {
            switch (form)
            {
                case 0:
                    _solid.Cylinder(Vector3.Zero, r, h, Quaternion.Identity);
                    break;
                case 1:
                    _solid.Ellipsoid(Vector3.Zero, new(r, h, r), Quaternion.Identity);
                    break;
                default:
                    _solid.Box(Vector3.Zero, new(r, h, r * (1 - wall)), Quaternion.Identity);
                    break;
            }
        }
    }

    // Plates and bosses with holes and slots, most of them the same on both sides.
    private void MachinePart(SeededRandom random)
    {
        _solid.Blend = random.Chance(0.5f) ? 0.01f : random.LogUniform(0.02f, 0.12f);
        bool mirrored = random.Chance(0.7f);
        if (random.Chance(0.5f))
        {
            _solid.Box(Vector3.Zero, Sizes(random, 0.15f, 0.9f), Quaternion.Identity);
        }
        else
        {
            _solid.Cylinder(Vector3.Zero, random.Uniform(0.3f, 0.9f), random.LogUniform(0.1f, 0.9f), Quaternion.Identity);
        }

        Features(random.Whole(0, 4), 0.6f);
        _solid.Carving = true;
        Features(random.Whole(1, 6), 0.4f);

        void Features(int count, float size)
        {
            for (int i = 0; i < count; i++)
            {
                Vector3 at = Somewhere(random, 0.5f);
                at.X = random.Chance(0.4f) ? 0 : at.X;
                Quaternion turn = PoseSampler.AxisFrame(4 * random.Whole(0, 5));
                bool round = random.Chance(0.65f);
                float radius = size * random.LogUniform(0.12f, 0.8f), half = random.LogUniform(0.2f, 1.4f);
                Vector3 box = size * Sizes(random, 0.15f, 1.2f);
                for (int side = 0; side < (mirrored && at.X != 0 ? 2 : 1); side++)
                {
                    Vector3 place = side == 0 ? at : at with { X = -at.X };
                    if (round)
                    {
                        _solid.Cylinder(place, radius, half, turn);
                    }
                    else
                    {
                        _solid.Box(place, box, turn);
                    }
                }
            }
        }
    }

    // A wedge, stone or crystal: a box cut by planes, with or without holes all over.
    private void Block(SeededRandom random)
    {
        _solid.Blend = random.LogUniform(0.005f, 0.1f);
        _solid.Box(Vector3.Zero, Sizes(random, 0.4f, 1), Quaternion.Identity);
        _solid.Carving = true;
        int cuts = random.Whole(1, 9);
        for (int i = 0; i < cuts; i++)
        {
            Vector3 outward = Direction(random);
            Quaternion turn = RandomTurn.Any(random);
            _solid.Box((random.Uniform(0.3f, 0.7f) * outward) + (4 * Vector3.Transform(Vector3.UnitY, turn)), new(4), turn);
        }

        int holes = random.Chance(0.5f) ? random.Whole(6, 20) : 0;
        for (int i = 0; i < holes; i++)
        {
            _solid.Ball(Somewhere(random, 0.5f), random.LogUniform(0.06f, 0.25f));
        }
    }

    // A ball or box of a head's size with pits or knobs: one in the middle, a ring of at least five, a pair at the sides,
    // or many anywhere. Two or three on one side would be a face.
    private void Dented(SeededRandom random)
    {
        _solid.Blend = random.LogUniform(0.02f, 0.25f);
        Vector3 half = Sizes(random, 0.6f, 1);
        bool box = random.Chance(0.3f);
        if (box)
        {
            _solid.Box(Vector3.Zero, 0.8f * half, Quaternion.Identity);
        }
        else
        {
            _solid.Ellipsoid(Vector3.Zero, half, Quaternion.Identity);
        }

        _solid.Carving = random.Chance(0.5f);
        float size = random.LogUniform(0.08f, 0.35f);
        int pattern = random.Whole(0, 3);
        int count = pattern switch
        {
            0 => 1,
            1 => random.Whole(5, 12),
            2 => 2,
            _ => random.Whole(7, 25),
        };
        float height = random.Uniform(-0.6f, 0.6f);
        for (int i = 0; i < count; i++)
        {
            Vector3 direction = pattern switch
            {
                0 => Vector3.Normalize(new Vector3(0, height, 1)),
                1 => Vector3.Normalize(new Vector3(MathF.Sin(2 * MathF.PI * i / count), height, MathF.Cos(2 * MathF.PI * i / count))),
                2 => Vector3.Normalize(new Vector3(i == 0 ? 1 : -1, 0.5f * height, 0)),
                _ => Direction(random),
            };
            Vector3 radii = pattern < 3 ? new(size) : size * Sizes(random, 0.5f, 1.3f);
            _solid.Ellipsoid(direction * half * (box ? 0.85f : 0.98f), radii, Quaternion.Identity);
        }
    }
}
