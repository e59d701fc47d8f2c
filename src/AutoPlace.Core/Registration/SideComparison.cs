using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.Template;

namespace AutoPlace.Registration;

/// <summary>
/// Sets right what a map from the atlas misses of a head's asymmetry. The network was taught on heads that are nearly
/// symmetric and sees a feature that lies elsewhere on one side only in part; but the two sides of one head have the
/// same features, and comparing them tells how much is missing, whatever the features look like.
/// </summary>
internal sealed class SideComparison
{
    private readonly MirroredSlide _slide;
    private readonly MirroredEars _ears;

    /// <summary>Prepares a template.</summary>
    /// <param name="lattice">Its lattice, whose regions "brow", "nose" and "ear" say where to compare; without them nothing is.</param>
    /// <param name="skin">Its skin, atlas.</param>
    /// <param name="normals">The skin's vertex normals.</param>
    public SideComparison(JointLattice lattice, TriangleMesh skin, Vector3[] normals)
    {
        _slide = new MirroredSlide(lattice, skin, normals);
        _ears = new MirroredEars(lattice, skin, normals);
    }

    /// <summary>The map with the missing asymmetry put in, in equal parts on either side; about 20 ms.</summary>
    /// <param name="warp">The map.</param>
    /// <param name="skin">The head's skin, head frame.</param>
    public HeadWarp Correct(HeadWarp warp, SkinSurface skin)
    {
        Func<Vector3d, Vector3d> slide = _slide.Measure(warp, skin);
        Func<Vector3d, Vector3d>? ears = _ears.Measure(warp, skin);
        return warp.Moved(atlas =>
        {
            Vector3d along = slide(atlas);
            Vector3d move = along == Vector3d.Zero ? Vector3d.Zero : warp.Apply(atlas - along) - warp.Apply(atlas);
            return ears is null ? move : move + ears(atlas);
        });
    }
}
