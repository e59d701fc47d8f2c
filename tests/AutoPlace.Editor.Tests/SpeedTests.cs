using System.Globalization;
using System.Text;
using AutoPlace.Geometry;
using AutoPlace.Import;
using Microsoft.Playwright;
using Xunit;

namespace AutoPlace.Editor.Tests;

[Collection(EditorTests.Name)]
public class SpeedTests(EditorFixture editor)
{
    /// <summary>Main-thread work that a drag event may take, milliseconds: a quarter of a frame at 60 a second.</summary>
    private const double MostMs = 4;

    [Fact]
    public async Task Dragging_on_200_000_triangles_takes_a_few_milliseconds_an_event()
    {
        await using EditorPage page = await editor.OpenAsync();
        await page.Page.SetInputFilesAsync("#head-file", new FilePayload { Name = "fine.obj", MimeType = "text/plain", Buffer = FineHead() });
        await page.PlacedAsync();
        Assert.InRange((await page.ShownAsync()).Triangles, 200_000, 400_000);
        await page.Page.SelectOptionAsync("[data-key='follow']", "distance");

        // Events one after the other without a frame in between: a software renderer takes a second to draw so many triangles,
        // and that is no work of the handlers.
        foreach (string joint in (string[])["brow_3_left", "lip_corner_left", "pronasale"])
        {
            await page.Page.EvaluateAsync("""
                async (joint) => {
                  const canvas = document.querySelector('canvas');
                  const { x, y } = window.autoplace.whereIs(joint);
                  canvas.setPointerCapture = () => undefined;
                  const send = (type, i) => canvas.dispatchEvent(new PointerEvent(type, { clientX: x + i * 0.4, clientY: y - i * 0.2, button: type === 'pointermove' ? -1 : 0, buttons: 1, pointerId: 1, bubbles: true }));
                  send('pointerdown', 0);
                  for (let i = 1; i <= 60; i++) {
                    send('pointermove', i);
                  }
                  send('pointerup', 60);
                  await window.autoplace.settled();
                }
                """, joint);
        }

        Stats stats = await page.StatsAsync();
        TestContext.Current.SendDiagnosticMessage(FormattableString.Invariant($"{stats.Count} drag events, median {stats.Median:0.00} ms, most {stats.Max:0.0} ms"));
        Assert.True(stats.Count > 150, $"{stats.Count} events");
        Assert.InRange(stats.Median, 0, MostMs);
        Assert.Equal(4, (await page.ShownAsync()).Revision);
    }

    // The demonstration head, each face cut into quads about its middle twice.
    private static byte[] FineHead()
    {
        HeadScan scan = MeshReader.Read(Path.Combine(Requirements.DemoFolder, "maren.glb"));
        PolygonMesh mesh = scan.Mesh;
        List<Vector3d> points = [.. mesh.Positions.ToArray().Select(p => (Vector3d)p)];
        List<int[]> faces = [.. Enumerable.Range(0, mesh.FaceCount).Select(f => mesh.Face(f).ToArray())];
        for (int round = 0; round < 2; round++)
        {
            faces = Cut(points, faces);
        }

        var text = new StringBuilder();
        foreach (Vector3d p in points)
        {
            text.Append(CultureInfo.InvariantCulture, $"v {p.X:0.#######} {p.Y:0.#######} {p.Z:0.#######}\n");
        }

        foreach (int[] face in faces)
        {
            text.Append("f ").AppendJoin(' ', face.Select(v => v + 1)).Append('\n');
        }

        return Encoding.ASCII.GetBytes(text.ToString());
    }

    private static List<int[]> Cut(List<Vector3d> points, List<int[]> faces)
    {
        var middles = new Dictionary<(int, int), int>();
        var result = new List<int[]>();
        foreach (int[] face in faces)
        {
            int centre = Add(face.Aggregate(Vector3d.Zero, (sum, v) => sum + points[v]) / face.Length);
            for (int k = 0; k < face.Length; k++)
            {
                result.Add([face[k], Middle(face[k], face[(k + 1) % face.Length]), centre, Middle(face[(k + face.Length - 1) % face.Length], face[k])]);
            }
        }

        return result;

        int Middle(int a, int b)
        {
            (int, int) key = (Math.Min(a, b), Math.Max(a, b));
            return middles.TryGetValue(key, out int known) ? known : middles[key] = Add((points[a] + points[b]) / 2);
        }

        int Add(Vector3d point)
        {
            points.Add(point);
            return points.Count - 1;
        }
    }
}
