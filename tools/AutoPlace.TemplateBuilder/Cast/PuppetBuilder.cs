using System.Numerics;
using AutoPlace.Geometry;
using AutoPlace.TemplateBuilder.Cast.Remeshing;
using AutoPlace.TemplateBuilder.Heads;

namespace AutoPlace.TemplateBuilder.Cast;

/// <summary>Builds a puppet's mesh, piece by piece, on the template's head in its shape; atlas coordinates.</summary>
internal sealed class PuppetBuilder
{
    private static readonly string[] MouthInterior = ["teeth_upper", "gums_upper", "teeth_lower", "gums_lower", "tongue"];

    private readonly WarpedHead _head;
    private readonly PolygonMeshBuilder _mesh = new();

    public PuppetBuilder(WarpedHead head) => _head = head;

    /// <summary>The mesh that other pieces are added to.</summary>
    public PolygonMeshBuilder Mesh => _mesh;

    public PuppetShape Shape => _head.Shape;

    /// <summary>Skin of even triangles.</summary>
    /// <param name="edgeLength">Length of edge at a point.</param>
    /// <param name="parts">Parts of the template that it covers, skin first.</param>
    public void AddTriangles(Func<Vector3d, double> edgeLength, params string[] parts)
    {
        Add(Remeshed(edgeLength, parts));
    }

    /// <summary>Skin of quads, with a triangle here and there: even triangles, joined in pairs.</summary>
    public void AddPairedQuads(Func<Vector3d, double> edgeLength, params string[] parts)
    {
        (Vector3d[] points, List<(string Part, int[] Corners)> triangles) = Remeshed(edgeLength, parts);
        Add((points, QuadPairs.Join(points, triangles)));
    }

    /// <summary>Skin of polygons, mostly of six corners, round the vertices of even triangles.</summary>
    public void AddPolygons(Func<Vector3d, double> edgeLength, params string[] parts)
    {
        var surface = new SmoothSurface(_head.Triangles(parts).Mesh);
        (Vector3d[] points, List<(string Part, int[] Corners)> triangles) = Remeshed(edgeLength, parts);
        Add(DualPolygons.Of(points, triangles, (p, normal) => surface.Near(p, normal) ?? p));
    }

    /// <summary>Skin of quads: three in each of the even triangles, round its centre.</summary>
    public void AddTripleQuads(Func<Vector3d, double> edgeLength, params string[] parts)
    {
        (TriangleMesh mesh, _) = _head.Triangles(parts);
        var surface = new SmoothSurface(mesh);
        (Vector3d[] points, List<(string Part, int[] Corners)> triangles) = Remeshed(edgeLength, parts);
        Vector3[] normals = VertexNormals.AngleWeighted(new TriangleMesh([.. points.Select(p => (Vector3)p)], [.. triangles.SelectMany(t => t.Corners)]));
        int[] vertices = [.. points.Select(_mesh.AddVertex)];
        var middles = new Dictionary<(int, int), int>();
        foreach ((string part, int[] t) in triangles)
        {
            Vector3d normal = Vector3d.Cross(points[t[1]] - points[t[0]], points[t[2]] - points[t[0]]).Normalized();
            int centre = _mesh.AddVertex(Laid((points[t[0]] + points[t[1]] + points[t[2]]) / 3, normal));
            for (int i = 0; i < 3; i++)
            {
                int before = t[(i + 2) % 3], after = t[(i + 1) % 3];
                _mesh.AddFace(Named(part), [vertices[t[i]], Middle(t[i], after), centre, Middle(before, t[i])]);
            }
        }

        int Middle(int a, int b)
        {
            (int, int) edge = a < b ? (a, b) : (b, a);
            if (!middles.TryGetValue(edge, out int middle))
            {
                middle = _mesh.AddVertex(Laid((points[a] + points[b]) * 0.5, ((Vector3d)normals[a] + normals[b]).Normalized()));
                middles.Add(edge, middle);
            }

            return middle;
        }

        Vector3d Laid(Vector3d p, Vector3d normal) => surface.Near(p, normal) ?? p;
    }

    /// <summary>Teeth, gums and tongue as the template has them.</summary>
    public void AddMouthInterior() => AddFaces(MouthInterior);

    /// <summary>Eyeballs, or plates, as the template has them.</summary>
    public void AddTemplateEyes() => AddFaces("eyeball_left", "eyeball_right");

    /// <summary>Plain balls, cubes whose sides are grids.</summary>
    public void AddBalls(int cells)
    {
        Vector3d eye = Shape.EyePivot;
        CubeSphere.AddPair(_mesh, cells, "eyeball_left", "eyeball_right", direction => eye + (direction * Shape.BallRadius));
    }

    /// <summary>Triangles over a part of the skin, raised from it; where they aren't, they dip below it.</summary>
    /// <param name="fullness">For a point of the template's skin how thick the shell is (0 to 1) and how far it hangs down (0 to 1).</param>
    /// <param name="scale">Factor of thickness and hang.</param>
    public (Vector3d[] Points, int[] Triangles) Shell(Func<Vector3d, (double Thickness, double Hang)> fullness, double scale)
    {
        const double Thickness = 0.15, Hang = 0.45, Forward = 0.12, Dip = 0.04, Groove = 0.022, EdgeLength = 0.055;
        (TriangleMesh skin, TriangleMesh template) = _head.Pair("skin");
        Vector3[] normals = VertexNormals.AngleWeighted(skin);
        var points = new Vector3[skin.VertexCount];
        double[] thickness = new double[points.Length];
        for (int v = 0; v < points.Length; v++)
        {
            (thickness[v], double hang) = fullness(template.Positions[v]);
            Vector3d down = new Vector3d(0, -Hang, Forward) * hang;
            Vector3d raised = (Vector3d)skin.Positions[v] + ((((Vector3d)normals[v] * Thickness) + down) * (thickness[v] * scale)) - ((Vector3d)normals[v] * (Dip * (1 - thickness[v])));
            points[v] = (Vector3)raised;
        }

        int[] kept = [.. Enumerable.Range(0, skin.TriangleCount).SelectMany(t => skin.Indices.Slice(3 * t, 3).ToArray().Any(v => thickness[v] > 0) ? skin.Indices.Slice(3 * t, 3).ToArray() : [])];
        (Vector3d[] shell, List<(string Part, int[] Corners)> triangles) = IsotropicRemesh.Run(new TriangleMesh(points, kept), [.. kept.Select(_ => "beard").Take(kept.Length / 3)], _ => EdgeLength);
        int[] indices = [.. triangles.SelectMany(t => t.Corners)];

        // Strands: grooves that run down round the face and wander.
        Vector3[] outward = VertexNormals.AngleWeighted(new TriangleMesh([.. shell.Select(p => (Vector3)p)], indices));
        return ([.. shell.Select((p, v) => p + ((Vector3d)outward[v] * (Groove * Math.Sin((40 * Math.Atan2(p.X, p.Z + 1)) + (2.5 * Math.Sin(5 * p.Y))))))], indices);
    }

    private void AddFaces(params string[] parts)
    {
        var vertices = new Dictionary<int, int>();
        foreach ((string part, Vector3d[] corners, int[] indices) in _head.Faces(parts))
        {
            _mesh.AddFace(part, [.. indices.Select((v, i) => vertices.TryGetValue(v, out int own) ? own : vertices[v] = _mesh.AddVertex(corners[i]))]);
        }
    }

    /// <summary>The remeshed skin, before it is added.</summary>
    public (Vector3d[] Points, List<(string Part, int[] Corners)> Triangles) Remeshed(Func<Vector3d, double> edgeLength, params string[] parts)
    {
        (TriangleMesh mesh, string[] triangleParts) = _head.Triangles(parts);
        return IsotropicRemesh.Run(mesh, triangleParts, edgeLength);
    }

    private void Add((Vector3d[] Points, List<(string Part, int[] Corners)> Faces) surface)
    {
        int[] vertices = [.. surface.Points.Select(_mesh.AddVertex)];
        foreach ((string part, int[] corners) in surface.Faces)
        {
            _mesh.AddFace(Named(part), [.. corners.Select(v => vertices[v])]);
        }
    }

    private static string Named(string part) => part == WarpedHead.LidLining ? "skin" : part;
}
