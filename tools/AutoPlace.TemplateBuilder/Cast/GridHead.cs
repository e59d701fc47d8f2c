using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Heads;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>A head of meridians and parallels about a vertical axis, denser in front: another topology than the template's.</summary>
internal static class GridHead
{
    /// <summary>Adds the skin, open over the eyes and under the neck.</summary>
    /// <param name="mesh">Receives vertices and faces.</param>
    /// <param name="envelope">The head to be laid on.</param>
    /// <param name="meridians">Number of meridians, even.</param>
    /// <param name="parallels">Number of rings between the crown and the neck.</param>
    public static void Add(PolygonMeshBuilder mesh, HeadEnvelope envelope, int meridians, int parallels)
    {
        int crown = mesh.AddVertex(envelope.Toward(HeadEnvelope.Centre, Vector3d.UnitY).Point);
        var rings = new (int Index, Coverage Coverage)[parallels][];
        for (int p = 0; p < parallels; p++)
        {
            // From the crown to steeply down into the neck.
            double polar = Math.PI * 0.965 * (p + 1) / parallels;
            rings[p] = [.. Enumerable.Range(0, meridians).Select(m => Place(polar, Azimuth(m, meridians)))];
        }

        for (int m = 0; m < meridians; m++)
        {
            int next = (m + 1) % meridians;
            mesh.AddFace("skin", [crown, rings[0][m].Index, rings[0][next].Index]);
            for (int p = 0; p + 1 < parallels; p++)
            {
                (int Index, Coverage Coverage)[] face = [rings[p][m], rings[p + 1][m], rings[p + 1][next], rings[p][next]];
                if (CubeSphere.IsCovered(face.Select(corner => corner.Coverage)))
                {
                    mesh.AddFace("skin", [.. face.Select(corner => corner.Index)]);
                }
            }
        }

        (int Index, Coverage Coverage) Place(double polar, double azimuth)
        {
            var direction = new Vector3d(Math.Sin(polar) * Math.Sin(azimuth), Math.Cos(polar), Math.Sin(polar) * Math.Cos(azimuth));
            (Vector3d point, Coverage coverage) = envelope.Toward(HeadEnvelope.Centre, direction);
            return (mesh.AddVertex(point), coverage);
        }
    }

    // Azimuth 0 is the front; meridians there lie at little more than half the mean distance.
    private static double Azimuth(int meridian, int count)
    {
        const double FrontDensity = 0.45;
        int folded = meridian <= count / 2 ? meridian : meridian - count;
        double even = 2 * Math.PI * folded / count;
        return even - (FrontDensity * Math.Sin(even));
    }
}
