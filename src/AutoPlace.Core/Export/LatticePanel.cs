using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Rendering;

namespace AutoPlace.Export;

/// <summary>One view of a lattice on its head.</summary>
internal sealed class LatticePanel
{
    // What lies at most this far under the seen surface counts as seen; interocular distances.
    private const float SeenTolerance = 0.035f;

    // Landmarks lie on the skin only as well as they were found.
    private const float LandmarkTolerance = 0.08f;

    // Over this height the clay fades out towards the floor; interocular distances.
    private const float FadeHeight = 0.6f;

    // Views steeper than this look into the neck; upward component of the direction to the viewer.
    private const float FromBelow = -0.2f;

    private const float CurveStep = 2.5f; // pixels between a curve's samples

    private static readonly Vector3 SkyPaper = new(0.984f, 0.982f, 0.976f);
    private static readonly Vector3 FloorPaper = new(0.925f, 0.921f, 0.910f);
    private static readonly Vector3 Ink = new(0.20f, 0.20f, 0.22f);
    private static readonly Vector3 Halo = new(0.98f);

    private static readonly float[] EncodedSteps = EncodeSteps();

    private readonly PictureCanvas _canvas;
    private readonly OrthographicView _view;
    private readonly VisibilityBuffer _samples;
    private readonly TriangleMesh _mesh;
    private readonly bool _seeThrough, _hidesBacks;
    private readonly float _floor, _unit;

    private LatticePanel(ClayRendering head, TriangleMesh mesh, PictureOptions options)
    {
        _mesh = mesh;
        _view = head.View;
        _samples = head.Samples;
        _seeThrough = options.SeeThrough;
        _floor = options.Floor;
        _unit = _view.Size / 560f; // pen widths are given for a panel of 560 pixels
        _canvas = new PictureCanvas(_view.Size, _view.Size, SkyPaper);
        _hidesBacks = _view.Toward.Y < FromBelow;
        PaintHead(head.Pixels);
    }

    /// <summary>Draws a panel.</summary>
    /// <param name="content">What to show; its own mesh isn't drawn but gives the positions of edges.</param>
    /// <param name="mesh">The head.</param>
    /// <param name="view">From where.</param>
    /// <param name="options">How.</param>
    /// <param name="clay">The last panel's rendering of the head, whose memory this one's takes; receives this one's.</param>
    internal static PictureCanvas Draw(
        PictureContent content, TriangleMesh mesh, PictureView view, PictureOptions options, ref ClayRendering? clay)
    {
        OrthographicView sized = view.View.WithSize(options.PanelSize);
        clay = ClayRendering.Draw(mesh, content.VertexNormals, sized, clay);
        var panel = new LatticePanel(clay, mesh, options);
        panel.DrawEdges(content);
        panel.DrawCurves(content.Curves);
        panel.DrawLandmarks(content.Landmarks);
        panel.DrawJoints(content.Joints);
        panel.DrawCaption(view.Caption);
        return panel._canvas;
    }

    /// <summary>Draws a marker: filled when seen, hollow when hidden.</summary>
    /// <param name="canvas">Where.</param>
    /// <param name="region">Region that gives colour and shape.</param>
    /// <param name="at">Centre, pixels.</param>
    /// <param name="radius">Radius, pixels.</param>
    /// <param name="hidden">True for the hollow form.</param>
    /// <param name="faint">Opacity.</param>
    internal static void DrawMarker(PictureCanvas canvas, string? region, Vector2 at, float radius, bool hidden, float faint)
    {
        MarkerShape shape = RegionPalette.Shape(region);
        Vector3 colour = RegionPalette.Colour(region);
        float pen = MathF.Max(0.9f, radius * 0.28f);
        if (hidden)
        {
            canvas.AddMarker(shape, at, radius + pen);
            canvas.Paint(Halo, 0.45f * faint);
            canvas.AddMarkerOutline(shape, at, radius * 0.9f, pen);
            canvas.Paint(colour * 0.85f, faint);
            return;
        }

        canvas.AddMarker(shape, at, radius + (pen * 1.6f));
        canvas.Paint(Halo, 0.55f * faint);
        canvas.AddMarker(shape, at, radius + (pen * 0.5f));
        canvas.Paint(colour * 0.35f, faint);
        canvas.AddMarker(shape, at, radius - (pen * 0.5f));
        canvas.Paint(colour, faint);
    }

    private void PaintHead(ReadOnlySpan<Vector4> head)
    {
        float strength = _seeThrough ? 0.45f : 1;
        for (int pixel = 0; pixel < head.Length; pixel++)
        {
            Vector3 paper = Vector3.Lerp(SkyPaper, FloorPaper, (pixel / _view.Size) / (float)_view.Size);
            Vector4 clay = head[pixel];
            if (clay.W > 0)
            {
                var linear = new Vector3(clay.X, clay.Y, clay.Z) / clay.W;
                paper = Vector3.Lerp(paper, Encoded(linear), clay.W * strength * Nearness(pixel));
            }

            _canvas.Pixels[pixel] = paper;
        }
    }

    // 1 on the head, falling to 0 towards the floor, so that a neck or body runs out softly. What is seen of a neck's
    // inside, through the hole that the floor cuts, is left out.
    private float Nearness(int pixel)
    {
        int x = pixel % _view.Size, y = pixel / _view.Size, nearest = 2 * ((y * _samples.Size) + x);
        foreach (int sample in (ReadOnlySpan<int>)[nearest + 1, nearest + _samples.Size, nearest + _samples.Size + 1])
        {
            nearest = _samples.Z[sample] > _samples.Z[nearest] ? sample : nearest;
        }

        if (_hidesBacks && IsBackFace(_samples.Triangles[nearest]))
        {
            return 0;
        }

        float height = _view.Unproject(x + 0.5f, y + 0.5f, _samples.Z[nearest]).Y;
        float t = Math.Clamp((height - _floor) / FadeHeight, 0, 1);
        return t * t * (3 - (2 * t));
    }

    private bool IsBackFace(int triangle)
    {
        (Vector3 a, Vector3 b, Vector3 c) = _mesh.Corners(triangle);
        float towards = Vector3.Dot(Vector3.Cross(b - a, c - a), _view.Toward);
        return _mesh.FacesOutward[triangle] ? towards < 0 : towards > 0;
    }

    private void DrawEdges(PictureContent content)
    {
        ReadOnlySpan<Vector3> positions = content.Mesh.Positions;
        float pen = MathF.Max(0.7f, 0.8f * _unit);
        foreach ((int from, int to) in content.Edges)
        {
            Vector3 a = _view.Project(positions[from]), b = _view.Project(positions[to]);
            if (MathF.Min(positions[from].Y, positions[to].Y) > _floor + (FadeHeight / 2) && IsSeen(a) && IsSeen(b) && IsSeen((a + b) / 2))
            {
                _canvas.AddStroke(new(a.X, a.Y), new(b.X, b.Y), pen);
            }
        }

        _canvas.Paint(Ink, 0.4f);
    }

    private void DrawCurves(IReadOnlyList<PictureCurve> curves)
    {
        // Hidden stretches first, so that they never cover a seen one.
        foreach (bool seen in (bool[])[false, true])
        {
            foreach (PictureCurve curve in curves)
            {
                if (curve.Points.Count >= 2)
                {
                    DrawCurve(curve, seen);
                }
            }
        }
    }

    private void DrawCurve(PictureCurve curve, bool seen)
    {
        var points = new Vector3d[curve.Points.Count];
        for (int i = 0; i < points.Length; i++)
        {
            points[i] = curve.Points[i];
        }

        float pen = (curve.Region is null ? 1.3f : 1.9f) * _unit, opacity = (seen ? 0.95f : _seeThrough ? 0.5f : 0.22f);
        var smooth = new CatmullRomCurve(points, curve.Closed);
        for (int layer = seen ? 0 : 1; layer < 2; layer++)
        {
            for (int span = 0; span < smooth.SpanCount; span++)
            {
                AddSpan(smooth, span, seen, layer == 0 ? pen + (1.6f * _unit) : pen);
            }

            Vector3 colour = curve.Region is null ? Ink : RegionPalette.Colour(curve.Region);
            _canvas.Paint(layer == 0 ? Halo : colour, layer == 0 ? 0.35f : curve.Region is null ? 0.7f * opacity : opacity);
        }
    }

    private void AddSpan(CatmullRomCurve curve, int span, bool seen, float pen)
    {
        Vector3 from = _view.Project((Vector3)curve.Position(span)), to = _view.Project((Vector3)curve.Position(span + 1));
        int steps = 1 + (int)(new Vector2(to.X - from.X, to.Y - from.Y).Length() / CurveStep);
        for (int i = 1; i <= steps; i++)
        {
            to = _view.Project((Vector3)curve.Position(span + ((double)i / steps)));
            if (IsSeen((from + to) / 2) == seen)
            {
                _canvas.AddStroke(new(from.X, from.Y), new(to.X, to.Y), pen);
            }

            from = to;
        }
    }

    private void DrawLandmarks(IReadOnlyList<Vector3> landmarks)
    {
        float arm = 4.2f * _unit;
        for (int layer = 0; layer < 2; layer++)
        {
            float pen = (layer == 0 ? 3.6f : 1.7f) * _unit;
            foreach (Vector3 landmark in landmarks)
            {
                Vector3 p = _view.Project(landmark);
                var at = new Vector2(p.X, p.Y);
                _canvas.AddStroke(at - new Vector2(arm, arm), at + new Vector2(arm, arm), pen);
                _canvas.AddStroke(at - new Vector2(arm, -arm), at + new Vector2(arm, -arm), pen);
                _canvas.Paint(layer == 0 ? Halo : Ink, (layer == 0 ? 0.5f : 1) * (IsSeen(p, LandmarkTolerance) || _seeThrough ? 1 : 0.4f));
            }
        }
    }

    private void DrawJoints(IReadOnlyList<PictureJoint> joints)
    {
        // From the furthest to the nearest, hidden ones first; the order of equals is that of the list.
        var order = new List<(bool Seen, float Z, int Index)>(joints.Count);
        for (int i = 0; i < joints.Count; i++)
        {
            Vector3 p = _view.Project(joints[i].Position);
            order.Add((IsSeen(p), p.Z, i));
        }

        order.Sort();
        float[] radii = MarkerRadii(joints);
        foreach ((bool seen, _, int index) in order)
        {
            Vector3 p = _view.Project(joints[index].Position);
            float radius = radii[index] * (seen ? 1 : 0.85f);
            DrawMarker(_canvas, joints[index].Region, new(p.X, p.Y), radius, !seen, seen || _seeThrough ? 1 : 0.4f);
        }
    }

    // Markers shrink where joints are close together, as along the lids; joints that coincide don't count as close.
    private float[] MarkerRadii(IReadOnlyList<PictureJoint> joints)
    {
        const float coincident = 1e-3f, share = 0.36f;
        float largest = MathF.Max(2, 4.6f * _unit), smallest = MathF.Max(2, 2.6f * _unit);
        var radii = new float[joints.Count];
        for (int i = 0; i < radii.Length; i++)
        {
            float spacing = float.PositiveInfinity;
            for (int j = 0; j < radii.Length; j++)
            {
                float distance = Vector3.Distance(joints[i].Position, joints[j].Position);
                spacing = distance > coincident ? MathF.Min(spacing, distance) : spacing;
            }

            radii[i] = Math.Clamp(share * spacing * _view.PixelsPerUnit, smallest, largest) * joints[i].Scale;
        }

        return radii;
    }

    private void DrawCaption(string caption)
    {
        float height = 17 * _unit;
        StrokeFont.Add(_canvas, caption, new Vector2(14 * _unit, _view.Size - (16 * _unit)), height);
        _canvas.Paint(Ink, 0.75f);
    }

    // p in pixels of the panel and view depth. Outside the picture and over the background everything is seen.
    private bool IsSeen(Vector3 p, float tolerance = SeenTolerance)
    {
        int x = (int)MathF.Floor(p.X * 2), y = (int)MathF.Floor(p.Y * 2);
        return (uint)x >= (uint)_samples.Size || (uint)y >= (uint)_samples.Size
            || p.Z >= _samples.Z[(y * _samples.Size) + x] - tolerance;
    }

    private static Vector3 Encoded(Vector3 linear) => new(Encoded(linear.X), Encoded(linear.Y), Encoded(linear.Z));

    private static float Encoded(float linear) => EncodedSteps[(int)(Math.Clamp(linear, 0, 1) * (EncodedSteps.Length - 1))];

    // sRGB transfer function (IEC 61966-2-1), finely enough that no step is seen in 8 bits.
    private static float[] EncodeSteps()
    {
        float[] steps = new float[1 << 14];
        for (int i = 0; i < steps.Length; i++)
        {
            float v = i / (float)(steps.Length - 1);
            steps[i] = v <= 0.0031308f ? 12.92f * v : (1.055f * MathF.Pow(v, 1 / 2.4f)) - 0.055f;
        }

        return steps;
    }
}
