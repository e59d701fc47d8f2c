using System.Text.Json;
using Xunit;

namespace AutoPlace.Editor.Tests;

/// <summary>A head from the drop to the exported file, with the service killed in between.</summary>
[Collection(EditorTests.Name)]
public class StoryTests(EditorFixture editor)
{
    private const string DropScript = """
        ([name, text]) => {
          const bytes = Uint8Array.from(atob(text), (character) => character.charCodeAt(0));
          const data = new DataTransfer();
          data.items.add(new File([bytes], name));
          document.querySelector('.drop').dispatchEvent(new DragEvent('drop', { dataTransfer: data, bubbles: true, cancelable: true }));
        }
        """;

    [Fact]
    public async Task A_dropped_head_is_placed_corrected_exported_and_reopened_after_the_service_was_killed()
    {
        await using EditorPage page = await editor.OpenAsync();
        byte[] head = await File.ReadAllBytesAsync(Path.Combine(Requirements.DemoFolder, "senna.glb"), TestContext.Current.CancellationToken);
        await page.Page.EvaluateAsync(DropScript, new[] { "senna.glb", Convert.ToBase64String(head) });
        await page.PlacedAsync();
        Assert.Equal(1, (await page.ShownAsync()).Revision);

        await page.PickRegionAsync("lip");
        Assert.Equal("lip", (await page.ShownAsync()).Region);

        double[] before = await page.PositionAsync("lip_corner_left");
        double[] twinBefore = await page.PositionAsync("lip_corner_right");
        double[] brow = await page.PositionAsync("brow_3_left");
        await page.DragAsync("lip_corner_left", 12, -6);
        Assert.Equal(2, (await page.ShownAsync()).Revision);
        Assert.Matches(@"solved in \d+\.\d ms", await page.SaidAsync());
        double[] moved = await page.PositionAsync("lip_corner_left");
        Assert.NotEqual(before, moved);
        Assert.Equal(brow, await page.PositionAsync("brow_3_left"));

        await page.ClickJointAsync("lip_upper_contact");
        await page.PressAsync("k");
        Assert.Equal(3, (await page.ShownAsync()).Revision);
        Assert.Equal("true", await page.Page.GetAttributeAsync("[data-key='lock']", "aria-pressed"));

        await page.ClickJointAsync("lip_corner_left");
        await page.ClickAsync("mirror-plane");
        double[] twin = await page.PositionAsync("lip_corner_right");
        Assert.NotEqual(twinBefore, twin);

        await page.ClickAsync("undo");
        await page.ClickAsync("undo");
        await page.ClickAsync("undo");
        Assert.Equal(before, await page.PositionAsync("lip_corner_left"));
        Assert.True(await page.Page.IsDisabledAsync("[data-key='undo']"));
        await page.ClickAsync("redo");
        await page.ClickAsync("redo");
        await page.ClickAsync("redo");
        Assert.Equal(twin, await page.PositionAsync("lip_corner_right"));
        Assert.True(await page.Page.IsDisabledAsync("[data-key='redo']"));

        using JsonDocument exported = JsonDocument.Parse(await page.DownloadAsync("placement.json"));
        JsonElement joint = exported.RootElement.GetProperty("joints").EnumerateArray().Single(j => j.GetProperty("name").GetString() == "lip_corner_left");
        Assert.Equal(moved, joint.GetProperty("position").EnumerateArray().Select(n => n.GetDouble()));
        Assert.True(joint.GetProperty("lock").GetProperty("position").GetBoolean());
        using JsonDocument corrections = JsonDocument.Parse(await page.DownloadAsync("corrections.json"));
        Assert.Equal(
            ["lip_corner_left", "lip_corner_right", "lip_upper_contact"],
            corrections.RootElement.GetProperty("joints").EnumerateArray().Select(j => j.GetProperty("name").GetString()!));

        Shown left = await page.ShownAsync();
        await editor.Service.KillAsync();
        await editor.Service.StartAsync();
        await page.Page.ReloadAsync();
        await page.PlacedAsync();
        Shown back = await page.ShownAsync();
        Assert.Equal((left.Revision, left.Current, left.Region), (back.Revision, back.Current, back.Region));
        Assert.Equal(left.Chosen, back.Chosen);
        Assert.Equal(twin, await page.PositionAsync("lip_corner_right"));
        Assert.False(await page.Page.IsDisabledAsync("[data-key='undo']"));
        Assert.Empty(page.Troubles);
    }

    [Fact]
    public async Task A_head_that_can_t_be_read_is_refused_by_name_and_another_can_be_tried()
    {
        await using EditorPage page = await editor.OpenAsync();
        await page.Page.EvaluateAsync(DropScript, new[] { "nothing.fbx", Convert.ToBase64String("no head"u8) });
        await page.Page.WaitForFunctionAsync("() => document.querySelector('.urgent').textContent.includes('nothing.fbx') || document.querySelector('.urgent').textContent.includes('fbx')");
        Assert.True(await page.Page.IsVisibleAsync(".drop"));
    }
}
