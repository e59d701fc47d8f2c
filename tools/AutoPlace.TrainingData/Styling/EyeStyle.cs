using System.Numerics;
using AutoPlace.Landmarks;
using AutoPlace.TrainingData.Meshing;
using AutoPlace.TrainingData.Morphable;
using AutoPlace.TrainingData.Sampling;

namespace AutoPlace.TrainingData.Styling;

/// <summary>How eyes are made.</summary>
internal enum EyeMake
{
    /// <summary>As the morphable model has them.</summary>
    Modelled,

    /// <summary>Ellipsoids on a filled socket, flat or bulging.</summary>
    Ellipsoids,

    /// <summary>Discs or blocks, flat on a filled socket or proud of the face, often large.</summary>
    Plates,

    /// <summary>Painted on closed skin.</summary>
    Painted,

    /// <summary>Sockets without balls.</summary>
    OpenSockets,

    /// <summary>Holes in the skin.</summary>
    Holes,
}

/// <summary>Eyes of stylised heads: drawn before the head's shape, applied to it afterwards.</summary>
internal sealed class EyeStyle
{
    private static readonly string[] Sides = ["left", "right"];
    private readonly float _halfWidth;
    private readonly float _aspect;
    private readonly float _bulge;
    private readonly float _turnOut;
    private readonly float _roll;
    private readonly float _iris;
    private readonly int _rings;
    private readonly float _asymmetry;
    private readonly float _apart;
    private readonly float _raise;
    private readonly Vector2 _exponents;
    private readonly float _lidBar;
    private readonly bool _disc;
    private readonly float _proud;

    private EyeStyle(EyeMake make, SeededRandom random)
    {
        Make = make;

        // Flat ellipsoids of 0.07 to 0.34 interocular distances are the core of the range.
        bool large = random.Chance(make == EyeMake.Plates ? 0.6f : 0.22f);
        _halfWidth = large ? random.LogUniform(0.2f, 0.42f) : random.LogUniform(0.045f, 0.24f);
        _aspect = large ? random.LogUniform(0.7f, 1.6f) : random.LogUniform(0.6f, 2.2f);
        _exponents = random.Chance(0.25f) ? new(random.Uniform(0.2f, 0.8f), random.Uniform(0.2f, 0.8f)) : Vector2.One;
        _lidBar = random.Chance(0.25f) ? random.LogUniform(0.015f, 0.06f) : 0;
        _disc = random.Chance(0.6f);
        _proud = random.Uniform(-0.8f, 0.6f);
        _bulge = make == EyeMake.Plates ? random.LogUniform(0.06f, 0.3f) : random.Chance(0.6f) ? random.LogUniform(0.15f, 0.5f) : random.Uniform(0.5f, 1.05f);
        _turnOut = random.Uniform(-0.1f, 0.5f);
        _roll = random.Uniform(-0.35f, 0.35f);
        _iris = random.Uniform(0.35f, 0.8f);
        _rings = random.Whole(4, 12);
        _asymmetry = random.Chance(0.1f) ? random.Uniform(0.75f, 1.3f) : 1;
        _apart = random.Uniform(-0.06f, 0.06f);
        _raise = random.Uniform(-0.06f, 0.06f);
    }

    /// <summary>How the eyes are made.</summary>
    public EyeMake Make { get; }

    /// <summary>The lids have to be closed for it.</summary>
    public bool ClosesLids => Make is EyeMake.Ellipsoids or EyeMake.Plates or EyeMake.Painted;

    /// <summary>Draws a style: half of the stylised heads, and nine of ten toys, have other eyes than the model's.</summary>
    public static EyeStyle Draw(SeededRandom random, HeadKind kind, bool toy)
    {
        if (kind != HeadKind.Stylised || !random.Chance(toy ? 0.9f : 0.45f))
        {
            return new(EyeMake.Modelled, random);
        }

        float u = random.Unit();
        EyeMake make = u < 0.54f ? EyeMake.Ellipsoids : u < 0.68f ? EyeMake.Plates : u < 0.82f ? EyeMake.Painted : u < 0.92f ? EyeMake.OpenSockets : EyeMake.Holes;
        return new(make, random);
    }

    /// <summary>Drops parts and fills sockets; the shape is deformed in place.</summary>
    public void Prepare(HeadDraft draft, Smoothing smoothing, HeadRegions regions)
    {
        if (Make == EyeMake.Modelled)
        {
            return;
        }

        foreach (Part part in (ReadOnlySpan<Part>)[Part.EyeballLeft, Part.EyeballRight, Part.EyeShells, Part.EyeOcclusion, Part.Lashes])
        {
            draft.Dropped[(int)part] = true;
        }

        if (Make != EyeMake.OpenSockets)
        {
            draft.Dropped[(int)Part.EyeSocketLeft] = true;
            draft.Dropped[(int)Part.EyeSocketRight] = true;
        }

        if (ClosesLids)
        {
            (Vector3 left, Vector3 right) = (draft.Landmark("eye_centre_left"), draft.Landmark("eye_centre_right"));
            float radius = 1.7f * Vector3.Distance(draft.Landmark("exocanthion_left"), draft.Landmark("endocanthion_left"));
            Vector3[] shape = draft.Shape;
            smoothing.Apply(
                draft,
                12,
                v => 1.5f * (WarpSampler.Bump(shape[v] - left, radius) + WarpSampler.Bump(shape[v] - right, radius)),
                regions.EyeSeam);
        }
    }

    /// <summary>Puts the new eyes on, and their landmarks. Called on the assembled mesh.</summary>
    public void Finish(HeadDraft draft)
    {
        if (!ClosesLids)
        {
            return;
        }

        float unit = Vector3.Distance(draft.Landmark("eye_centre_left"), draft.Landmark("eye_centre_right"));
        foreach (string side in Sides)
        {
            Place(draft, side, unit);
        }
    }

    private void Place(HeadDraft draft, string side, float unit)
    {
        float outward = side == "left" ? 1 : -1;
        float size = side == "left" ? _asymmetry : 1;
        Vector3 old = draft.Landmark("eye_centre_" + side) + (unit * new Vector3(outward * _apart, _raise, 0));
        float width = _halfWidth * unit * size, height = width * _aspect, depth = _bulge * MathF.Min(width, height);
        Quaternion turn = Quaternion.CreateFromAxisAngle(Vector3.UnitY, outward * _turnOut)
            * Quaternion.CreateFromAxisAngle(Vector3.UnitZ, outward * _roll);
        Vector3 surface = SkinInFront(draft, old);
        Vector3 front = Vector3.Transform(Vector3.UnitZ, turn);
        float sunk = Make switch { EyeMake.Painted => 0.9f, EyeMake.Plates => _proud, _ => 0.35f };
        Vector3 centre = surface - (front * depth * sunk);
        var radii = new Vector3(width, height, depth);
        if (Make is EyeMake.Ellipsoids or EyeMake.Plates)
        {
            AddBall(draft, side, centre, radii, turn);
        }
        else
        {
            Paint(draft, centre, radii, turn);
        }

        // Inside a flat eye the pivot lies behind it; a full ball turns about its centre.
        float behind = MathF.Max(0, (0.6f * width) - depth);
        Set(draft, "eye_centre_" + side, centre - (front * behind));
        draft.EyeFront[side == "left" ? 0 : 1] = depth + behind;

        // Where the ellipsoid comes out of the skin; a plate is as wide there as everywhere.
        float wide = Make == EyeMake.Ellipsoids ? MathF.Sqrt(1 - (sunk * sunk)) : 1;
        Vector3 Rim(float angleDegrees)
        {
            (float sin, float cos) = MathF.SinCos(angleDegrees * MathF.PI / 180);
            return centre + Vector3.Transform(new Vector3(outward * cos * width * wide, sin * height * wide, sunk * depth), turn);
        }

        Set(draft, "exocanthion_" + side, Rim(0));
        Set(draft, "lid_upper_lateral_" + side, Rim(60));
        Set(draft, "lid_upper_medial_" + side, Rim(120));
        Set(draft, "endocanthion_" + side, Rim(180));
        Set(draft, "lid_lower_medial_" + side, Rim(240));
        Set(draft, "lid_lower_lateral_" + side, Rim(300));
        if (_lidBar > 0)
        {
            // A ridge or lashes along the upper lid.
            Vector3 lift = front * (0.5f * _lidBar * unit);
            Span<Vector3> bar = [Rim(0) + lift, Rim(50) + lift, Rim(90) + lift, Rim(130) + lift, Rim(180) + lift];
            Span<Vector2> thick = stackalloc Vector2[5];
            thick.Fill(unit * new Vector2(_lidBar, 0.7f * _lidBar));
            Primitives.Tube(draft.Mesh, bar, thick, Vector3.UnitY, 5, closed: false, new Stuff(SurfaceClass.OnHead, Material.Hair));
        }

        if (Make == EyeMake.Painted && !draft.HasMaterials)
        {
            MarkUnseen(draft, side);
        }
    }

    private static void MarkUnseen(HeadDraft draft, string side)
    {
        draft.SetStates("eye_centre_" + side, LandmarkState.Implied);
        foreach (string name in LandmarkNames.All)
        {
            bool ofEye = name.Contains("canthion", StringComparison.Ordinal) || name.StartsWith("lid_", StringComparison.Ordinal);
            if (ofEye && name.EndsWith(side, StringComparison.Ordinal))
            {
                draft.SetStates(name, LandmarkState.Absent);
            }
        }
    }

    // The frontmost skin near the line through the old centre.
    private static Vector3 SkinInFront(HeadDraft draft, Vector3 centre)
    {
        int end = draft.Model.Layout.Range(Part.Face, draft.Model.VertexCount).End;
        float best = float.PositiveInfinity;
        Vector3 surface = centre;
        for (int v = 0; v < end; v++)
        {
            Vector3 d = draft.Shape[v] - centre;
            float distance = (d.X * d.X) + (d.Y * d.Y);
            if (d.Z > -1 && distance < best)
            {
                best = distance;
                surface = centre with { Z = draft.Shape[v].Z };
            }
        }

        return surface;
    }

    // Atlas points are those of the mean's ball in the same direction.
    private void AddBall(HeadDraft draft, string side, Vector3 centre, Vector3 radii, Quaternion turn)
    {
        WorkMesh mesh = draft.Mesh;
        MorphableModel model = draft.Model;
        int firstTriangle = mesh.TriangleCount;
        var stuff = new Stuff(SurfaceClass.Eyeball, Material.Sclera);
        Range range = Make == EyeMake.Plates ? AppendPlate(mesh, centre, radii, turn, stuff) : Primitives.Superquadric(mesh, centre, radii, turn, _exponents, _rings, stuff);
        Vector3 ball = (model.Landmarks["eye_centre_" + side] - model.AtlasOrigin) / model.AtlasScale;
        const float MeanBallRadius = 0.245f;
        Quaternion back = Quaternion.Inverse(turn);
        for (int v = range.Start.Value; v < range.End.Value; v++)
        {
            Vector3 direction = Vector3.Transform(mesh.Positions[v] - centre, back) / radii;
            mesh.Atlas[v] = ball + (MeanBallRadius * direction);
        }

        if (!draft.HasMaterials)
        {
            return;
        }

        for (int t = firstTriangle; t < mesh.TriangleCount; t++)
        {
            Vector3 local = Vector3.Transform(Centroid(mesh, t) - centre, back) / radii;
            if (local.Z > 0 && (local.X * local.X) + (local.Y * local.Y) < _iris * _iris)
            {
                mesh.Materials[t] = Material.Iris;
            }
        }
    }

    // A disc is a cylinder whose axis looks forward.
    private Range AppendPlate(WorkMesh mesh, Vector3 centre, Vector3 radii, Quaternion turn, Stuff stuff)
    {
        var exponents = new Vector2(_disc ? 1 : 0.3f, 0.25f);
        Quaternion forward = turn * Quaternion.CreateFromAxisAngle(Vector3.UnitX, MathF.PI / 2);
        return Primitives.Superquadric(mesh, centre, new(radii.X, radii.Z, radii.Y), forward, exponents, _rings, stuff);
    }

    private void Paint(HeadDraft draft, Vector3 centre, Vector3 radii, Quaternion turn)
    {
        if (!draft.HasMaterials)
        {
            return;
        }

        WorkMesh mesh = draft.Mesh;
        Quaternion back = Quaternion.Inverse(turn);
        for (int t = 0; t < mesh.TriangleCount; t++)
        {
            Vector3 local = Vector3.Transform(Centroid(mesh, t) - centre, back) / radii;
            float across = (local.X * local.X) + (local.Y * local.Y);
            if (across < 1 && MathF.Abs(Centroid(mesh, t).Z - centre.Z) < 2 && mesh.Classes[t] == SurfaceClass.HeadSkin)
            {
                mesh.Materials[t] = across < _iris * _iris ? Material.Iris : Material.Sclera;
            }
        }
    }

    private static Vector3 Centroid(WorkMesh mesh, int triangle)
    {
        ReadOnlySpan<int> corners = mesh.Indices.Slice(3 * triangle, 3);
        return (mesh.Positions[corners[0]] + mesh.Positions[corners[1]] + mesh.Positions[corners[2]]) / 3;
    }

    private static void Set(HeadDraft draft, string name, Vector3 position) =>
        draft.Landmarks[LandmarkNames.IndexOf(name)] = position;
}
