using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>
/// What a file may hold beside a head: a body in some pose, turned against the head, and what it holds or stands on. Some
/// bodies have no head, some of all this is crude. Frame and unit are the head's. One for each thread.
/// </summary>
internal sealed class Scene
{
    private readonly WorkMesh _mesh = new();
    private readonly Decimation _decimation = new();

    /// <summary>The head with what is drawn about it; a shape that is no head may be replaced by a body without one.</summary>
    public HeadSample Around(HeadSample sample, SeededRandom random)
    {
        bool isHead = sample.Kind != HeadKind.NonHead, hasBody = random.Chance(isHead ? 0.55f : 0.35f), crude = random.Chance(0.12f);
        if (!hasBody && !crude)
        {
            return sample;
        }

        _mesh.Clear();
        if (isHead || !hasBody)
        {
            Append(sample);
        }

        if (hasBody)
        {
            Vector3 chin = isHead ? sample.Landmarks[LandmarkNames.IndexOf("menton")] : new(0, -1.7f, 0);
            float ears = isHead
                ? (sample.Landmarks[LandmarkNames.IndexOf("tragion_left")].Z + sample.Landmarks[LandmarkNames.IndexOf("tragion_right")].Z) / 2
                : -1.2f;
            float height = MathF.Max(1, -2 * chin.Y);
            int first = _mesh.VertexCount;
            AppendBody(random, new(0, chin.Y, ears), height);
            AppendThings(random, first, height);
        }

        if (crude)
        {
            // As of the first games: the whole of it in some hundreds of triangles.
            float cell = random.LogUniform(0.2f, 0.55f);
            _decimation.Apply(_mesh, cell, cell, _ => false, [], random);
        }

        return Finish(sample, flat: crude ? random.Chance(0.5f) : sample.Flat);
    }

    private void Append(HeadSample sample)
    {
        TriangleMesh mesh = sample.Mesh;
        for (int v = 0; v < mesh.VertexCount; v++)
        {
            _mesh.AddVertex(mesh.Positions[v], sample.Atlas[v]);
        }

        ReadOnlySpan<int> corners = mesh.Indices;
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            _mesh.AddTriangle(corners[3 * t], corners[(3 * t) + 1], corners[(3 * t) + 2], sample.Classes[t], sample.Materials[t]);
        }
    }

    private HeadSample Finish(HeadSample sample, bool flat)
    {
        var mesh = new TriangleMesh(_mesh.Positions.ToArray(), _mesh.Indices.ToArray());
        return sample with
        {
            Mesh = mesh,
            Flat = flat,
            Normals = flat ? HeadBuilder.TriangleNormals(mesh) : VertexNormals.AngleWeighted(mesh),
            Atlas = _mesh.Atlas.ToArray(),
            Classes = _mesh.Classes.ToArray(),
            Materials = _mesh.Materials.ToArray(),
        };
    }

    // Trunk, arms and legs in any pose below the neck; up to seven heads tall, chest and hips as wide as it takes.
    private void AppendBody(SeededRandom random, Vector3 neck, float head)
    {
        int first = _mesh.VertexCount, rings = random.Whole(5, 12);
        float tall = head * random.LogUniform(1, 7), trunk = tall * random.Uniform(0.36f, 0.55f), legs = tall - trunk, arms = tall * random.Uniform(0.4f, 0.55f);
        float wide = MathF.Max(0.25f * head, tall * random.Uniform(0.1f, 0.18f)), deep = wide * random.Uniform(0.45f, 0.9f), limb = wide * random.Uniform(0.18f, 0.4f);
        float top = neck.Y + (head * random.Uniform(-0.2f, 0.05f));
        var exponents = new Vector2(random.Uniform(0.4f, 1), random.Uniform(0.4f, 1));
        Primitives.Tube(_mesh, [new(0, top + (0.15f * head), neck.Z), new(0, top - (0.2f * trunk), neck.Z)], [new(0.5f * wide), new(0.6f * wide)], Vector3.UnitZ, rings + 2, closed: false, Stuff.Body);
        Primitives.Superquadric(_mesh, new(0, top - (0.3f * trunk), neck.Z), new(wide, 0.34f * trunk, deep), Quaternion.Identity, exponents, rings, Stuff.Body);
        Primitives.Superquadric(_mesh, new(0, top - (0.8f * trunk), neck.Z), new(wide * random.Uniform(0.7f, 1.1f), 0.3f * trunk, deep), Quaternion.Identity, exponents, rings, Stuff.Body);
        bool skirt = random.Chance(0.2f), sits = random.Chance(0.15f), alike = random.Chance(0.6f);
        if (skirt)
        {
            float hem = wide * random.Uniform(1.2f, 2.2f);
            Primitives.Tube(_mesh, [new(0, top - (0.7f * trunk), neck.Z), new(0, top - trunk - (legs * random.Uniform(0.4f, 1)), neck.Z)], [new(deep, wide), new(hem)], Vector3.UnitZ, 16, closed: false, Stuff.Body);
        }

        // Directions of upper and lower limbs: beside the body, away from it, raised, forward; legs apart, in a step, sitting.
        Vector3 Arm() => Vector3.Normalize(new(random.Uniform(0.05f, 1.2f), random.Chance(0.25f) ? random.Uniform(-1, 1) : -1, random.Uniform(-0.4f, random.Chance(0.3f) ? 1.5f : 0.4f)));
        Vector3 Leg() => Vector3.Normalize(new(random.Uniform(0, 0.4f), -1, sits ? random.Uniform(1, 6) : random.Uniform(-0.5f, 0.5f)));
        (Vector3 upper, Vector3 fore, Vector3 thigh, Vector3 shin) = (Arm(), Arm(), Leg(), sits ? -Vector3.UnitY : Leg());
        foreach (float side in (ReadOnlySpan<float>)[1, -1])
        {
            var sided = new Vector3(side, 1, 1);
            var shoulder = new Vector3(side * 0.9f * wide, top - (0.1f * trunk), neck.Z);
            Vector3 elbow = shoulder + (0.5f * arms * sided * upper), hand = elbow + (0.5f * arms * sided * fore);
            AppendLimb(random, shoulder, elbow, hand, limb, rings);
            if (random.Chance(0.25f))
            {
                AppendHeld(random, hand, tall);
            }

            var hip = new Vector3(side * 0.5f * wide, top - (0.95f * trunk), neck.Z);
            Vector3 knee = hip + (0.5f * legs * sided * thigh), foot = knee + (0.5f * legs * sided * shin);
            AppendLimb(random, hip, knee, foot, 1.3f * limb, rings);
            Primitives.Ellipsoid(_mesh, foot + new Vector3(0, 0, limb), new(1.2f * limb, 0.9f * limb, 2.4f * limb), Quaternion.Identity, rings, Stuff.Body);
            if (!alike)
            {
                (upper, fore, thigh, shin) = (Arm(), Arm(), Leg(), sits ? -Vector3.UnitY : Leg());
            }
        }

        // The head looks aside, up or down: the body turns about the neck.
        float most = random.Chance(0.35f) ? 0.9f : 0.2f;
        Quaternion turn = Quaternion.CreateFromYawPitchRoll(random.Uniform(-most, most), random.Uniform(-0.5f, 0.5f) * most, random.Uniform(-0.4f, 0.4f) * most);
        foreach (ref Vector3 p in _mesh.Positions[first..])
        {
            p = neck + Vector3.Transform(p - neck, turn);
        }
    }

    private void AppendLimb(SeededRandom random, Vector3 from, Vector3 bend, Vector3 end, float radius, int rings)
    {
        Primitives.Tube(_mesh, [from, bend, end], [new(radius), new(0.85f * radius), new(0.65f * radius)], new(0.31f, 0.2f, 0.93f), rings + 2, closed: false, Stuff.Body);
        Primitives.Ellipsoid(_mesh, end, new(radius * random.Uniform(0.7f, 1.4f)), Quaternion.Identity, rings, Stuff.Body);
    }

    // A staff, a blade, a shield, a ball.
    private void AppendHeld(SeededRandom random, Vector3 hand, float tall)
    {
        float size = tall * random.LogUniform(0.08f, 0.6f), thin = size * random.LogUniform(0.02f, 0.12f);
        Vector3 radii = random.Unit() switch
        {
            < 0.5f => new(thin, size, thin),
            < 0.7f => new(thin, size, 4 * thin),
            < 0.85f => new(0.6f * size, 0.6f * size, thin),
            _ => new(0.3f * size),
        };
        var exponents = new Vector2(random.Uniform(0.2f, 1), random.Uniform(0.2f, 1));
        Quaternion turn = random.Chance(0.5f) ? RandomTurn.Within(random, 0.4f) : RandomTurn.Any(random);
        Vector3 shift = Vector3.Transform(new(0, random.Uniform(-0.6f, 0.9f) * radii.Y, 0), turn);
        Primitives.Superquadric(_mesh, hand + shift, radii, turn, exponents, random.Whole(4, 10), Stuff.Body);
    }

    // What it stands on or before, wears on its back, or has beside it.
    private void AppendThings(SeededRandom random, int first, float head)
    {
        (Vector3 low, Vector3 high) = (new(float.PositiveInfinity), new(float.NegativeInfinity));
        foreach (Vector3 p in _mesh.Positions[first..])
        {
            (low, high) = (Vector3.Min(low, p), Vector3.Max(high, p));
        }

        Vector3 size = high - low, middle = (low + high) / 2;
        if (random.Chance(0.15f))
        {
            float thick = head * random.Uniform(0.02f, 0.6f), reach = MathF.Max(size.X, size.Z) * random.Uniform(0.3f, 1);
            Primitives.Superquadric(_mesh, new(middle.X, low.Y - (thick / 2), middle.Z), new(reach, thick, reach), Quaternion.Identity, new(random.Chance(0.5f) ? 1 : 0.2f, 0.2f), 8, Stuff.Body);
        }

        if (random.Chance(0.12f))
        {
            var radii = new Vector3(size.X * random.Uniform(0.2f, 0.9f), size.Y * random.Uniform(0.15f, 0.5f), head * random.LogUniform(0.03f, 0.4f));
            Primitives.Superquadric(_mesh, new(0, low.Y + (size.Y * random.Uniform(0.4f, 0.9f)), low.Z - radii.Z), radii, Quaternion.Identity, new(random.Uniform(0.3f, 1)), 8, Stuff.Body);
        }

        if (random.Chance(0.1f))
        {
            Vector3 radii = head * new Vector3(random.LogUniform(0.2f, 1.5f), random.LogUniform(0.2f, 1.5f), random.LogUniform(0.2f, 1.5f));
            Vector3 beside = middle + new Vector3(random.Sign() * ((size.X / 2) + radii.X), random.Uniform(-0.5f, 0.5f) * size.Y, random.Uniform(-0.5f, 0.5f) * size.Z);
            Primitives.Superquadric(_mesh, beside, radii, RandomTurn.Any(random), new(random.Uniform(0.2f, 1)), 8, Stuff.Body);
        }
    }
}
