using System.Numerics;
using System.Text;
using System.Text.Json.Nodes;
using Xunit;

namespace AutoPlace.Editor.Tests;

[Collection(EditorTests.Name)]
public class EditingTests(EditorFixture editor)
{
    [Fact]
    public async Task Keyboard_alone_places_chooses_nudges_locks_undoes_and_exports()
    {
        await using EditorPage page = await editor.OpenAsync();
        await page.Page.FocusAsync("[data-demo='maren.glb']");
        await page.Page.Keyboard.PressAsync("Enter");
        await page.PlacedAsync();

        await TabToAsync(page, "canvas");
        await page.PressAsync("Enter");
        await page.PressAsync("Tab");
        string joint = Assert.Single((await page.ShownAsync()).Chosen);
        double[] before = await page.PositionAsync(joint);
        // In one task, as steps that follow each other slowly are a revision each.
        await page.Page.EvaluateAsync("""
            () => {
              for (const [key, shiftKey] of [['ArrowRight', false], ['ArrowRight', false], ['ArrowUp', true]]) {
                document.activeElement.dispatchEvent(new KeyboardEvent('keydown', { key, shiftKey, bubbles: true, cancelable: true }));
              }
            }
            """);
        await page.Page.WaitForFunctionAsync("() => window.autoplace.shown().revision === 2");
        Assert.NotEqual(before, await page.PositionAsync(joint));
        await page.PressAsync("Control+z");
        Assert.Equal(before, await page.PositionAsync(joint));
        await page.PressAsync("Control+Shift+z");
        Assert.NotEqual(before, await page.PositionAsync(joint));
        await page.PressAsync("k");
        Assert.Equal(5, (await page.ShownAsync()).Revision);
        await page.PressAsync("Escape");
        Assert.Empty((await page.ShownAsync()).Chosen);
        await TabToAsync(page, "#tab-look");
        await page.PressAsync("ArrowLeft");
        Assert.Equal("tab-files", await page.Page.EvaluateAsync<string>("() => document.activeElement.id"));
        await page.Page.Keyboard.PressAsync("?");
        Assert.True(await page.Page.IsVisibleAsync("dialog.keys"));
        await page.Page.Keyboard.PressAsync("Escape");
        Assert.Empty(page.Troubles);
    }

    [Fact]
    public async Task Exact_numbers_go_into_the_placement_exactly()
    {
        await using EditorPage page = await editor.OpenDemoAsync();
        await page.ClickJointAsync("pronasale");
        double[] at = await page.PositionAsync("pronasale");
        await page.Page.FillAsync("[data-key='coordinate-1']", FormattableString.Invariant($"{at[1] + 0.001:0.#####}"));
        await page.ClickAsync("set-position");
        Assert.Equal(Math.Round(at[1] + 0.001, 5), (await page.PositionAsync("pronasale"))[1], 7);
    }

    [Fact]
    public async Task Numbers_turn_a_joint_about_its_own_axes()
    {
        await using EditorPage page = await editor.OpenDemoAsync();
        await page.ClickJointAsync("pronasale");
        Quaternion before = await RotationAsync(page, "pronasale");
        await page.Page.SelectOptionAsync("[data-key='numbers']", "turn");
        await page.Page.FillAsync("[data-key='coordinate-0']", "10");
        await page.ClickAsync("set-position");
        Quaternion turn = Quaternion.Inverse(before) * await RotationAsync(page, "pronasale");
        Assert.Equal(Math.Sin(double.DegreesToRadians(5)), Math.CopySign(turn.X, turn.X * turn.W), 4);
        Assert.Equal(0, Math.Abs(turn.Y) + Math.Abs(turn.Z), 4);
    }

    [Fact]
    public async Task Keys_that_work_by_themselves_can_be_switched_off()
    {
        await using EditorPage page = await editor.OpenSharedAsync();
        await page.ClickAsync("keys");
        await page.Page.UncheckAsync("[data-key='single-keys']");
        await page.Page.Keyboard.PressAsync("Escape");
        await page.PressAsync("n");
        Assert.Empty((await page.ShownAsync()).Chosen);
        await page.Page.ReloadAsync();
        await page.PlacedAsync();
        await page.PressAsync("n");
        Assert.Empty((await page.ShownAsync()).Chosen);
        await page.ClickAsync("keys");
        await page.Page.CheckAsync("[data-key='single-keys']");
        await page.Page.Keyboard.PressAsync("Escape");
        await page.PressAsync("n");
        Assert.Single((await page.ShownAsync()).Chosen);
    }

    [Fact]
    public async Task A_row_goes_onto_the_clicked_loop_and_a_pivot_into_the_clicked_part()
    {
        await using EditorPage page = await editor.OpenDemoAsync();
        await page.ClickJointAsync("lip_lower_border_2_left");
        double[] row = await page.PositionAsync("lip_lower_border_2_left");
        (float x, float y) = await page.WhereIsAsync("labiale_inferius");
        float eyes = (await page.WhereIsAsync("eye_centre_left")).X - (await page.WhereIsAsync("eye_centre_right")).X;
        await page.ClickAsync("row-to-loop");
        await page.Page.Mouse.ClickAsync(x, y - (0.05f * Math.Abs(eyes))); // a loop that runs along the lip for some of its length
        await page.SettledAsync();
        Assert.Equal(2, (await page.ShownAsync()).Revision);
        Assert.NotEqual(row, await page.PositionAsync("lip_lower_border_2_left"));

        await page.PickRegionAsync("eye");
        (float eyeX, float eyeY) = await page.WhereIsAsync("eye_centre_left");
        await page.PressAsync("n");
        string pivot = (await page.ShownAsync()).Chosen[0];
        await page.ClickAsync("pivot");
        await page.Page.Mouse.ClickAsync(eyeX, eyeY);
        await page.SettledAsync();
        Assert.Equal(3, (await page.ShownAsync()).Revision);
        Assert.StartsWith("eye", pivot, StringComparison.Ordinal);
        Assert.Empty(page.Troubles);
    }

    [Fact]
    public async Task A_dragged_landmark_lays_the_lattice_anew()
    {
        await using EditorPage page = await editor.OpenDemoAsync();
        await page.Page.CheckAsync("[data-key='layer-landmarks']");
        await page.Page.UncheckAsync("[data-key='layer-joints']");
        await page.SettledAsync();
        double[] joint = await page.PositionAsync("pronasale");
        await page.DragAsync("pronasale", 0, -14);
        Assert.Equal(2, (await page.ShownAsync()).Revision);
        Assert.Contains("landmark", await page.SaidAsync(), StringComparison.Ordinal);
        Assert.NotEqual(joint, await page.PositionAsync("pronasale"));
    }

    [Fact]
    public async Task A_corrected_placement_comes_back_in_and_a_broken_one_is_refused_by_element()
    {
        await using EditorPage page = await editor.OpenDemoAsync();
        JsonNode placement = JsonNode.Parse(await page.DownloadAsync("placement.json"))!;
        JsonArray position = placement["joints"]!.AsArray().Single(j => (string)j!["name"]! == "menton")!["position"]!.AsArray();
        double lower = Math.Round((double)position[1]! - 0.002, 6);
        position[1] = lower;
        await page.Page.SetInputFilesAsync("#import-file", new Microsoft.Playwright.FilePayload { Name = "corrected.json", MimeType = "application/json", Buffer = Encoding.UTF8.GetBytes(placement.ToJsonString()) });
        await page.Page.WaitForFunctionAsync("() => window.autoplace.shown().revision === 2");
        Assert.Equal(lower, (await page.PositionAsync("menton"))[1], 6);
        await page.Page.SetInputFilesAsync("#import-file", new Microsoft.Playwright.FilePayload { Name = "broken.json", MimeType = "application/json", Buffer = "{}"u8.ToArray() });
        await page.Page.WaitForFunctionAsync("() => document.querySelector('.urgent').textContent !== ''");
        await page.SettledAsync();
        Assert.Equal(2, (await page.ShownAsync()).Revision);
    }

    [Fact]
    public async Task Motion_swings_the_jaw_and_comes_back_to_rest_exactly()
    {
        await using EditorPage page = await editor.OpenSharedAsync();
        await page.Page.ClickAsync("#tab-motion");
        await page.ClickAsync("motion");
        await page.Page.WaitForSelectorAsync("[data-motion='jaw']");
        string rest = await page.Page.EvaluateAsync<string>("() => window.autoplace.posedPlaces()");
        foreach ((string motion, string value) in ((string, string)[])[("jaw", "20"), ("eyesLeft", "15"), ("eyesUp", "10"), ("lids", "0.7")])
        {
            string was = await page.Page.EvaluateAsync<string>("() => window.autoplace.posedPlaces()");
            await page.Page.FillAsync($"[data-motion='{motion}']", value);
            Assert.NotEqual(was, await page.Page.EvaluateAsync<string>("() => window.autoplace.posedPlaces()"));
        }

        await page.SettledAsync();
        using (await page.PictureAsync("motion"))
        {
        }

        await page.ClickAsync("rest");
        Assert.Equal(rest, await page.Page.EvaluateAsync<string>("() => window.autoplace.posedPlaces()"));
        await page.ClickAsync("motion");
        Assert.Empty(page.Troubles);
    }

    private static async Task<Quaternion> RotationAsync(EditorPage page, string joint)
    {
        JsonArray numbers = JsonNode.Parse(await page.DownloadAsync("placement.json"))!["joints"]!.AsArray().Single(j => (string)j!["name"]! == joint)!["rotation"]!.AsArray();
        return new((float)numbers[0]!, (float)numbers[1]!, (float)numbers[2]!, (float)numbers[3]!);
    }

    private static async Task TabToAsync(EditorPage page, string selector)
    {
        for (int i = 0; i < 120; i++)
        {
            if (await page.Page.EvaluateAsync<bool>("(selector) => document.activeElement.matches(selector)", selector))
            {
                return;
            }

            await page.Page.Keyboard.PressAsync("Tab");
        }

        Assert.Fail($"Tab never comes to {selector}");
    }
}
