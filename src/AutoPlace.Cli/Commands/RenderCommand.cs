using System.CommandLine;
using AutoPlace.Export;
using AutoPlace.Geometry;
using AutoPlace.Rendering;

namespace AutoPlace.Cli.Commands;

/// <summary><c>autoplace render</c>: the depth and normal views that the network looks at, as PNG.</summary>
internal static class RenderCommand
{
    internal static Command Create(CommandSession session)
    {
        Argument<string> head = PathArgument.Create<string>("HEAD", "File of the head.");
        Option<string> output = PathArgument.NotEmpty(
            new Option<string>("--output", "-o") { Description = "Folder for the pictures.", HelpName = "DIR", Required = true });
        var command = new Command("render", "Write the depth and normal views of a head as PNG (16-bit depth).") { head, output };
        var headOptions = new HeadOptions();
        headOptions.AddTo(command);
        command.SetAction(parsed =>
        {
            string folder = parsed.GetValue(output)!;
            Render(session.Place(parsed.GetValue(head)!, headOptions.Read(parsed)).HeadMesh, folder, session.Cancellation);
            session.Print(output => output.WriteLine($"views in {folder}"));
            return ExitCode.Placed;
        });
        return command;
    }

    private static void Render(TriangleMesh mesh, string folder, CancellationToken cancellation)
    {
        using var output = new OutputFolder(folder);
        System.Numerics.Vector3[] normals = VertexNormals.AngleWeighted(mesh);
        var buffer = new VisibilityBuffer(ViewRing.InputSize);
        foreach ((string shown, string side, OrthographicView view) in ViewRing.All())
        {
            cancellation.ThrowIfCancellationRequested();
            buffer.Clear();
            Rasterizer.Rasterize(mesh, view, buffer);
            output.Add($"{shown}_{side}_depth.png", stream => ViewImages.WriteDepth(buffer, view, stream));
            output.Add($"{shown}_{side}_normal.png", stream => ViewImages.WriteNormals(buffer, view, mesh, normals, stream));
        }

        cancellation.ThrowIfCancellationRequested();
        output.Commit();
    }
}
