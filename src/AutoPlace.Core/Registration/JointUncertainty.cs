using AutoPlace.Geometry;
using AutoPlace.Landmarks;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// How sure a joint's place is by what it was placed with: that of the control points and landmarks around it, plus what
/// grows with the distance to them. One of the features that the calibrated radius is made from.
/// </summary>
internal sealed class JointUncertainty
{
    /// <summary>Standard deviation gained for each interocular distance away from the nearest evidence.</summary>
    private const double GrowthByDistance = 0.15;

    /// <summary>Standard deviation of the pitch of the gaze, radians: the demonstration heads' own is found to within 1.7 degrees.</summary>
    private const double GazeTilt = 0.03;

    private readonly List<(Vector3d Atlas, double Variance)> _evidence = [];
    private readonly Dictionary<Ride, double> _parts = [];

    /// <summary>Gathers the evidence.</summary>
    public JointUncertainty(TemplateHead template, IReadOnlyList<ControlPoint> controls, HeadEvidence head)
    {
        foreach (ControlPoint c in controls)
        {
            _evidence.Add((c.Atlas, c.Variance));
        }

        foreach (Landmark l in head.Landmarks)
        {
            if (template.Landmarks.TryGetValue(l.Name, out Vector3d atlas))
            {
                _evidence.Add((atlas, l.Covariance.Trace / 3));
            }
        }

        _parts[Ride.EyeballLeft] = head.EyeballLeft.CentreVariance;
        _parts[Ride.EyeballRight] = head.EyeballRight.CentreVariance;
        _parts[Ride.Eyes] = (head.EyeballLeft.CentreVariance + head.EyeballRight.CentreVariance) / 2;
    }

    /// <summary>Radius that holds the true place with 90 % confidence, interocular distances.</summary>
    public double Radius90(ControlJoint joint)
    {
        if (_parts.TryGetValue(joint.Ride, out double part))
        {
            double ahead = joint.Ride == Ride.Eyes ? joint.Position.Z * GazeTilt : 0;
            part += ahead * ahead;
            return LatticeRegistration.Radius90Sigmas * Math.Sqrt(part);
        }

        double best = double.PositiveInfinity;
        foreach ((Vector3d atlas, double variance) in _evidence)
        {
            double d2 = (atlas - joint.Position).LengthSquared;
            best = Math.Min(best, variance + (d2 * GrowthByDistance * GrowthByDistance));
        }

        return LatticeRegistration.Radius90Sigmas * Math.Sqrt(best);
    }
}
