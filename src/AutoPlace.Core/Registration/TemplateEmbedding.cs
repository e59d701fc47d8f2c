using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// How a template whose own head isn't the atlas gets onto another head: its skin is known in the atlas, the atlas is
/// known on the head, so that both heads were read by the same eyes and what these see wrongly on both cancels.
/// </summary>
internal sealed class TemplateEmbedding
{
    /// <summary>Variance of each coordinate at which the two maps in a row are followed: they are smooth already.</summary>
    private const double FollowingVariance = 1e-6;

    private readonly Vector3d[] _own;
    private readonly Vector3d[] _atlas;
    private readonly double[] _lips;
    private readonly HeadWarp _stay;

    /// <summary>Prepares a template.</summary>
    /// <param name="template">The template, with atlas positions.</param>
    /// <param name="controls">Vertices of its skin, spread evenly.</param>
    /// <param name="lips">The lips that they are of.</param>
    public TemplateEmbedding(TemplateHead template, ReadOnlySpan<Vector3d> controls, ReadOnlySpan<double> lips)
    {
        ReadOnlySpan<System.Numerics.Vector3> atlas = template.AtlasPositions!.Value.Span;
        var atlasOf = new Dictionary<Vector3d, Vector3d>(atlas.Length);
        for (int v = 0; v < atlas.Length; v++)
        {
            atlasOf.TryAdd(template.Mesh.Positions[v], atlas[v]);
        }

        (_own, _lips) = (controls.ToArray(), lips.ToArray());
        _atlas = [.. _own.Select(control => atlasOf[control])];
        _stay = HeadWarp.Fit(template, [.. _own.Select((control, i) => new ControlPoint(control, control, FollowingVariance, _lips[i]))], [], open: 1);
    }

    /// <summary>The link from the template to a head.</summary>
    /// <param name="registration">The link from the atlas to the head.</param>
    public HeadRegistration Carry(HeadRegistration registration)
    {
        var controls = new ControlPoint[_own.Length];
        Parallel.For(0, controls.Length, i =>
        {
            double nearest = double.PositiveInfinity, variance = 0;
            foreach (ControlPoint control in registration.Controls)
            {
                double squared = (control.Atlas - _atlas[i]).LengthSquared;
                (nearest, variance) = squared < nearest ? (squared, control.Variance) : (nearest, variance);
            }

            controls[i] = new ControlPoint(_own[i], registration.Warp.ApplyOnLip(_atlas[i], _lips[i]), variance, _lips[i]);
        });
        var placeOf = new Dictionary<Vector3d, Vector3d>(controls.Length);
        foreach (ControlPoint control in controls)
        {
            placeOf.TryAdd(control.Atlas, control.Head); // vertices of unwelded polygons coincide
        }

        SimilarityTransform whole = ProcrustesAlignment.Align(
            _own, [.. controls.Select(control => control.Head)], [.. controls.Select(control => 1 / control.Variance)]);
        return registration with
        {
            Controls = controls,
            Warp = _stay.Moved(own => placeOf[own] - own),
            Evidence = registration.Evidence with { AtlasToHead = whole },
        };
    }
}
