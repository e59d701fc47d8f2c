using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// Sets right how a studio's own head was read in the atlas, by the rig that was fitted to it: joints of a pair mean the
/// same place on either side, so that the atlas, which is symmetric, has them at each other's mirror images, on a face
/// that isn't, too. By what they differ one side or the other was misread: half of it is taken from each, and in between
/// what the joints round about say in the mean (Nadaraya 1964; from memory), so that one which its rigger has put elsewhere on
/// one side only counts little.
/// </summary>
internal sealed class MirroredReading
{
    /// <summary>
    /// Standard deviation of a joint's say, interocular distances. On two draws of the morphable head rigs of one identity come
    /// out alike with 0.05 to 0.15, and less well with 0.3.
    /// </summary>
    private const double Sigma = 0.15;

    /// <summary>What the reading counts for as it is, over one joint: far from all joints it stays.</summary>
    private const double Faint = 0.3;

    /// <summary>Joints that differ by more mean different places, interocular distances (own choice): on a face of the morphable head pairs were read up to 0.04 apart.</summary>
    private const double MostDifferent = 0.15;

    private readonly List<(Vector3d Read, Vector3d Off)> _joints = [];

    /// <summary>Compares both sides of a rig.</summary>
    /// <param name="joints">Joints on the skin, with the places where they were read in the atlas.</param>
    public MirroredReading(IReadOnlyList<(ControlJoint Joint, Vector3d Atlas)> joints)
    {
        var read = joints.ToDictionary(joint => joint.Joint.Name, joint => joint.Atlas, StringComparer.Ordinal);
        foreach ((ControlJoint joint, Vector3d at) in joints)
        {
            // On an asymmetric face twins are told by their names alone.
            string? twin = joint.Twin ?? RigNames.Mirrored(joint.Name).FirstOrDefault(read.ContainsKey);
            if (twin is not null && read.TryGetValue(twin, out Vector3d other) && other.X * at.X < 0)
            {
                Vector3d off = MirroredPoints.Mirror(other) - at;
                if (off.Length <= MostDifferent)
                {
                    _joints.Add((at, off * 0.5));
                }
            }
        }
    }

    /// <summary>The atlas point that is meant where one was read.</summary>
    /// <param name="read">Atlas point.</param>
    public Vector3d Apply(Vector3d read)
    {
        (Vector3d sum, double total) = (Vector3d.Zero, Faint);
        foreach ((Vector3d joint, Vector3d off) in _joints)
        {
            double weight = Math.Exp(-(joint - read).LengthSquared / (2 * Sigma * Sigma));
            (sum, total) = (sum + (off * weight), total + weight);
        }

        return read + (sum / total);
    }
}
