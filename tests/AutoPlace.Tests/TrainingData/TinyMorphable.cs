using System.Numerics;
using System.Runtime.InteropServices;
using AutoPlace.Geometry;
using AutoPlace.TrainingData.Morphable;

namespace AutoPlace.Tests.TrainingData;

/// <summary>
/// A morphable head small enough for tests: an ellipsoid with a nose, two balls for eyes and a few faces for each of
/// the other parts, mirror-symmetric, with dimensions of a head in centimetres, two identity modes and two expressions.
/// </summary>
internal static class TinyMorphable
{
    private const int Rings = 36;
    private const int Segments = 48;
    private static readonly Vector3 Centre = new(0, 1, 1);
    private static readonly Vector3 Radii = new(7.4f, 12, 9.5f);

    public static readonly Vector3 EyeLeft = new(3.1f, 3.6f, 8);

    public static MorphableModel Model { get; } = Build();

    public static MorphableModel Build()
    {
        var maker = new Maker();
        maker.AddSkin();
        maker.AddPatches();
        maker.AddBall(Part.EyeballLeft, EyeLeft);
        maker.AddBall(Part.EyeballRight, EyeLeft with { X = -EyeLeft.X });
        maker.AddTail();
        return maker.Model();
    }

    private sealed class Maker
    {
        private readonly List<Vector3> _positions = [];
        private readonly List<int> _starts = [0];
        private readonly List<int> _corners = [];
        private readonly List<int> _materials = [];
        private readonly int[] _first = new int[13];
        private int[] _contour = [];
        private int[] _jawRight = [];

        public void AddSkin()
        {
            // Front rows first, so that the face is one range of vertices and the scalp the next.
            int[,] index = new int[Rings + 1, Segments];
            foreach (bool front in (ReadOnlySpan<bool>)[true, false])
            {
                if (!front)
                {
                    _first[(int)Part.Scalp] = _positions.Count;
                }

                for (int r = 0; r <= Rings; r++)
                {
                    for (int s = 0; s < Segments; s++)
                    {
                        Vector3 p = SkinPoint(r, s);
                        if (p.Z >= Centre.Z - 1e-3f == front)
                        {
                            index[r, s] = _positions.Count;
                            _positions.Add(p);
                        }
                    }
                }
            }

            for (int r = 0; r < Rings; r++)
            {
                for (int s = 0; s < Segments; s++)
                {
                    int next = (s + 1) % Segments;
                    Face(0, index[r, s], index[r + 1, s], index[r + 1, next], index[r, next]);
                }
            }
        }

        // Segment 0 lies in front, on the midline; segments s and -s are mirror images.
        private static Vector3 SkinPoint(int ring, int segment)
        {
            int mirrored = Math.Min(segment, Segments - segment);
            (float sinUp, float cosUp) = MathF.SinCos(((ring + 0.5f) / (Rings + 1) * MathF.PI) - (MathF.PI / 2));
            (float sin, float cos) = MathF.SinCos(2 * MathF.PI * mirrored / Segments);
            float side = segment == mirrored ? -1 : 1;
            Vector3 p = Centre + (Radii * new Vector3(side * sin * cosUp, sinUp, cos * cosUp));
            float nose = MathF.Exp(-((p.X * p.X) + ((p.Y - 0.5f) * (p.Y - 0.5f))) / 2.5f);
            return p.Z > Centre.Z ? p + new Vector3(0, 0, 2.5f * nose) : p;
        }

        public void AddPatches()
        {
            _first[(int)Part.MouthSocket] = _positions.Count;
            int upper = Nearest(0, -3), lower = Nearest(0, -4);
            Triangle(1, upper, lower, Add(new(0, -3.5f, 6)));
            _first[(int)Part.EyeSocketLeft] = _positions.Count;
            Triangle(1, Nearest(3, 4.5f), Nearest(3, 2.5f), Add(new(3, 3.5f, 6)));
            _first[(int)Part.EyeSocketRight] = _positions.Count;
            Triangle(1, Nearest(-3, 4.5f), Nearest(-3, 2.5f), Add(new(-3, 3.5f, 6)));
            foreach (Part part in (ReadOnlySpan<Part>)[Part.GumsTongue, Part.UpperTeeth, Part.LowerTeeth])
            {
                _first[(int)part] = _positions.Count;
                Triangle(2, Add(new(-1, -3, 5)), Add(new(1, -3, 5)), Add(new(0, -4, 5)));
            }
        }

        public void AddBall(Part part, Vector3 centre)
        {
            const int BallRings = 8, BallSegments = 12;
            _first[(int)part] = _positions.Count;
            for (int r = 0; r <= BallRings; r++)
            {
                for (int s = 0; s < BallSegments; s++)
                {
                    (float sinUp, float cosUp) = MathF.SinCos(((float)r / BallRings * MathF.PI) - (MathF.PI / 2));
                    (float sin, float cos) = MathF.SinCos(2 * MathF.PI * s / BallSegments);
                    Add(centre + (1.25f * new Vector3(sin * cosUp, sinUp, cos * cosUp)));
                }
            }

            int first = _first[(int)part];
            for (int r = 0; r < BallRings; r++)
            {
                for (int s = 0; s < BallSegments; s++)
                {
                    int a = first + (r * BallSegments), next = (s + 1) % BallSegments;
                    Face(s == 0 ? 4 : 3, a + s, a + next, a + BallSegments + next, a + BallSegments + s);
                }
            }
        }

        public void AddTail()
        {
            foreach (Part part in (ReadOnlySpan<Part>)[Part.EyeShells, Part.EyeOcclusion, Part.Lashes])
            {
                _first[(int)part] = _positions.Count;
                Triangle(5, Add(new(2.8f, 3.6f, 8.5f)), Add(new(3.4f, 3.6f, 8.5f)), Add(new(3.1f, 3.8f, 8.5f)));
            }
        }

        public MorphableModel Model()
        {
            FindContours();
            Vector3 P(int contour) => _positions[_contour[contour]];
            var landmarks = new Dictionary<string, Vector3>
            {
                ["eye_centre_left"] = EyeLeft,
                ["eye_centre_right"] = EyeLeft with { X = -EyeLeft.X },
                ["exocanthion_right"] = P(36),
                ["endocanthion_right"] = P(39),
                ["endocanthion_left"] = P(42),
                ["exocanthion_left"] = P(45),
                ["alare_right"] = P(31),
                ["alare_left"] = P(35),
                ["cheilion_right"] = P(48),
                ["cheilion_left"] = P(54),
                ["nasion"] = P(27),
                ["pronasale"] = P(30),
                ["subnasale"] = P(33),
                ["stomion"] = (P(62) + P(66)) / 2,
                ["pogonion"] = _positions[Nearest(0, -6.3f)],
                ["menton"] = _positions[Nearest(0, -8.5f)],
                ["tragion_left"] = _positions[Nearest(7.3f, 0.5f)],
                ["tragion_right"] = _positions[Nearest(-7.3f, 0.5f)],
            };
            int coordinates = 3 * _positions.Count;
            var random = new Random(5);
            short[] Modes() => [.. Enumerable.Range(0, 2 * coordinates).Select(_ => (short)random.Next(-3000, 3000))];
            string[] materials = ["Face", "Socket", "Teeth", "Sclera", "Iris", "Shell"];
            var topology = new ObjTopology(new PolygonMesh([.. _positions], [.. _starts], [.. _corners]), [.. _materials], materials);
            int[] jawLeft = [.. _jawRight.Reverse().Select(v => Nearest(-_positions[v].X, _positions[v].Y))];
            return new MorphableModel(
                new MorphableLayout(_first, _contour, _jawRight, jawLeft),
                topology,
                MemoryMarshal.Cast<Vector3, float>(CollectionsMarshal.AsSpan(_positions)).ToArray(),
                (Modes(), [1e-5f, 2e-5f]),
                (Modes(), [1e-5f, 1e-5f], ["eyeBlink_L", "eyeBlink_R"]),
                landmarks);
        }

        // Frontal positions of the usual 68 points, right first.
        private void FindContours()
        {
            List<(float X, float Y)> points = [];
            for (int i = 0; i < 17; i++)
            {
                (float sin, float cos) = MathF.SinCos(i * MathF.PI / 16);
                points.Add((-6.5f * cos, 1 - (8.5f * sin)));
            }

            points.AddRange([(-5.5f, 5.5f), (-4.5f, 6), (-3.5f, 6.2f), (-2.3f, 6), (-1.2f, 5.8f), (1.2f, 5.8f), (2.3f, 6), (3.5f, 6.2f), (4.5f, 6), (5.5f, 5.5f)]);
            points.AddRange([(0, 3.7f), (0, 2.7f), (0, 1.6f), (0, 0.5f), (-1.2f, -1), (-0.6f, -1.1f), (0, -1.2f), (0.6f, -1.1f), (1.2f, -1)]);
            points.AddRange([(-4.5f, 3.5f), (-3.8f, 4.2f), (-2.6f, 4.2f), (-1.8f, 3.4f), (-2.6f, 2.8f), (-3.8f, 2.8f)]);
            points.AddRange([(1.8f, 3.4f), (2.6f, 4.2f), (3.8f, 4.2f), (4.5f, 3.5f), (3.8f, 2.8f), (2.6f, 2.8f)]);
            points.AddRange([(-2.5f, -3.5f), (-1.7f, -2.8f), (-0.7f, -2.4f), (0, -2.5f), (0.7f, -2.4f), (1.7f, -2.8f), (2.5f, -3.5f)]);
            points.AddRange([(1.7f, -4.1f), (1, -4.3f), (0, -4.4f), (-1, -4.3f), (-1.7f, -4.1f)]);
            points.AddRange([(-2.2f, -3.5f), (-1, -3.2f), (0, -3.2f), (1, -3.2f), (2.2f, -3.5f), (1, -3.7f), (0, -3.7f), (-1, -3.7f)]);
            _contour = [.. points.Select(p => Nearest(p.X, p.Y))];
            (float X, float Y)[] jaw = [(-7.2f, 3), (-7, 0.8f), (-6.8f, -1.5f), (-6.2f, -3.9f), (-5.3f, -5.5f), (-4.4f, -6.3f), (-3, -7), (-1.5f, -7.4f)];
            _jawRight = [.. jaw.Select(p => Nearest(p.X, p.Y))];
        }

        // Frontmost-side skin vertex nearest in the frontal projection; ties go to the lower side of the same row.
        private int Nearest(float x, float y)
        {
            int best = 0;
            float distance = float.PositiveInfinity;
            for (int v = 0; v < _first[(int)Part.Scalp]; v++)
            {
                float d = ((_positions[v].X - x) * (_positions[v].X - x)) + ((_positions[v].Y - y) * (_positions[v].Y - y));
                if (d < distance - 1e-5f)
                {
                    (best, distance) = (v, d);
                }
            }

            return best;
        }

        private int Add(Vector3 p)
        {
            _positions.Add(p);
            return _positions.Count - 1;
        }

        private void Triangle(int material, int a, int b, int c) => Face(material, a, b, c);

        private void Face(int material, params ReadOnlySpan<int> corners)
        {
            _corners.AddRange(corners);
            _starts.Add(_corners.Count);
            _materials.Add(material);
        }
    }
}
