using System.Numerics;

namespace AutoPlace.Geometry;

/// <summary>A ray, prepared for many triangles: its longest axis becomes the last one, and the others are sheared away.</summary>
internal readonly struct ShearedRay
{
    private readonly Vector3d _origin;
    private readonly int _x, _y, _z;
    private readonly double _shearX, _shearY, _scaleZ;

    /// <summary>Prepares a ray.</summary>
    /// <param name="origin">Start.</param>
    /// <param name="direction">Direction, not zero.</param>
    public ShearedRay(Vector3 origin, Vector3 direction)
    {
        _origin = origin;
        Vector3d d = direction;
        Vector3 size = Vector3.Abs(direction);
        _z = size.X >= size.Y && size.X >= size.Z ? 0 : size.Y >= size.Z ? 1 : 2;
        _x = (_z + 1) % 3;
        _y = (_z + 2) % 3;
        _scaleZ = 1 / d[_z];
        _shearX = d[_x] * _scaleZ;
        _shearY = d[_y] * _scaleZ;
    }

    /// <summary>True when the ray runs against its longest axis, which turns the sheared triangles over.</summary>
    public bool IsMirrored => _scaleZ < 0;

    /// <summary>The point relative to the ray: two coordinates across it, and the ray parameter.</summary>
    public Vector3d Shear(Vector3 point)
    {
        Vector3d p = point - _origin;
        double z = p[_z];
        return new Vector3d(p[_x] - (_shearX * z), p[_y] - (_shearY * z), _scaleZ * z);
    }
}
