using System.Globalization;
using System.Text;
using AutoPlace.Geometry;

namespace AutoPlace.Export;

/// <summary>
/// Writes joints.csv: one line a joint with its name, parent, world matrix, local translation and quaternion, in the
/// coordinates and unit of the head's file. The matrix acts on column vectors and is given row by row (m00 to m03 is
/// the first row, m03, m13, m23 the position). Comma, line feed, quoting after RFC 4180.
/// </summary>
public static class JointsCsv
{
    private const string Header =
        "name,parent,m00,m01,m02,m03,m10,m11,m12,m13,m20,m21,m22,m23,m30,m31,m32,m33,tx,ty,tz,qx,qy,qz,qw";

    /// <summary>Decimals of the matrix's rotation part, as for quaternions.</summary>
    private const int RotationDecimals = 9;

    /// <summary>Writes the table as UTF-8 without byte order mark.</summary>
    /// <param name="document">The placement.</param>
    /// <param name="stream">Receives the table; stays open.</param>
    public static void Write(PlacementDocument document, Stream stream)
    {
        ArgumentNullException.ThrowIfNull(document);
        ArgumentNullException.ThrowIfNull(stream);
        using var writer = new StreamWriter(stream, new UTF8Encoding(false), leaveOpen: true) { NewLine = "\n" };
        writer.WriteLine(Header);
        foreach (PlacedJoint joint in document.Joints)
        {
            writer.WriteLine(Line(joint));
        }
    }

    private static string Line(PlacedJoint joint)
    {
        Matrix3d r = joint.Rotation.Normalized().ToMatrix();
        var line = new StringBuilder(CsvField.Quoted(joint.Name)).Append(',').Append(CsvField.Quoted(joint.Parent ?? ""));
        AppendRow(line, r.Row0, joint.Position.X);
        AppendRow(line, r.Row1, joint.Position.Y);
        AppendRow(line, r.Row2, joint.Position.Z);
        line.Append(",0,0,0,1");
        Append(line, joint.LocalTranslation.X, joint.LocalTranslation.Y, joint.LocalTranslation.Z);
        Append(line, joint.LocalRotation.X, joint.LocalRotation.Y, joint.LocalRotation.Z, joint.LocalRotation.W);
        return line.ToString();
    }

    private static void AppendRow(StringBuilder line, Vector3d row, double position) => Append(
        line,
        LengthRounding.ToDecimals(row.X, RotationDecimals),
        LengthRounding.ToDecimals(row.Y, RotationDecimals),
        LengthRounding.ToDecimals(row.Z, RotationDecimals),
        position);

    private static void Append(StringBuilder line, params ReadOnlySpan<double> numbers)
    {
        foreach (double number in numbers)
        {
            line.Append(',').Append(number.ToString("R", CultureInfo.InvariantCulture));
        }
    }
}
