using Xunit;

namespace AutoPlace.Editor.Tests;

[Collection(EditorTests.Name)]
public class TroubleTests(EditorFixture editor)
{
    [Fact]
    public async Task Two_windows_on_one_placement_are_told_and_neither_loses_its_move()
    {
        await using EditorPage one = await editor.OpenDemoAsync();
        await using EditorPage two = await editor.OpenAsync(new Uri(one.Page.Url).Fragment);
        await two.PlacedAsync();
        await one.DragAsync("brow_3_left", 0, -12);
        double[] theirs = await one.PositionAsync("brow_3_left");
        await two.Page.WaitForSelectorAsync("[data-key='take-newer']");
        await two.DragAsync("alare_right", -8, 0, settle: false);
        await two.Page.WaitForSelectorAsync("dialog.conflict[open]");
        using (await two.PictureAsync("conflict"))
        {
        }

        await two.Page.ClickAsync("[data-key='look-at-both']");
        await two.Page.WaitForSelectorAsync("[data-key='mine-again']");
        Assert.Equal(theirs, await two.PositionAsync("brow_3_left"));
        await two.SettledAsync();
        using (await two.PictureAsync("look-at-both"))
        {
        }

        double[] alare = await two.PositionAsync("alare_right");
        await two.ClickAsync("mine-again");
        Assert.Equal(3, (await two.ShownAsync()).Revision);
        Assert.Equal(theirs, await two.PositionAsync("brow_3_left"));
        Assert.NotEqual(alare, await two.PositionAsync("alare_right"));

        await one.Page.WaitForSelectorAsync("[data-key='take-newer']");
        await one.DragAsync("brow_3_left", 0, 6, settle: false);
        await one.Page.ClickAsync("[data-key='take-theirs']");
        await one.Page.WaitForFunctionAsync("() => window.autoplace.shown().revision === 3");
        Assert.Equal(theirs, await one.PositionAsync("brow_3_left"));
        Assert.Empty(one.Troubles);
        Assert.Empty(two.Troubles);
    }

    [Fact]
    public async Task A_service_that_goes_away_is_said_and_the_move_arrives_when_it_is_back()
    {
        await using EditorPage page = await editor.OpenDemoAsync();
        double[] before = await page.PositionAsync("pronasale");
        await editor.Service.KillAsync();
        try
        {
            await page.DragAsync("pronasale", 6, -8, settle: false);
            await page.Page.WaitForSelectorAsync("#away", new() { State = Microsoft.Playwright.WaitForSelectorState.Visible });
            using (await page.PictureAsync("away"))
            {
            }
        }
        finally
        {
            await editor.Service.StartAsync();
        }

        await page.Page.WaitForSelectorAsync("#away", new() { State = Microsoft.Playwright.WaitForSelectorState.Hidden });
        await page.SettledAsync();
        Assert.Equal(2, (await page.ShownAsync()).Revision);
        Assert.NotEqual(before, await page.PositionAsync("pronasale"));
        Assert.Empty(page.Troubles);
    }

    [Fact]
    public async Task An_earlier_revision_can_be_looked_at_named_compared_and_gone_back_to()
    {
        await using EditorPage page = await editor.OpenDemoAsync();
        double[] first = await page.PositionAsync("brow_3_left");
        await page.DragAsync("brow_3_left", 4, -14);
        await page.Page.ClickAsync("#tab-revisions");
        await page.ClickAsync("compare-1");
        await page.Page.WaitForSelectorAsync(".ramp");
        Assert.Matches(@"\d mm", await page.Page.TextContentAsync(".ramp-ends"));
        using (await page.PictureAsync("comparison"))
        {
        }

        await page.Page.ReloadAsync();
        await page.PlacedAsync();
        await page.Page.WaitForSelectorAsync(".ramp");
        await page.ClickAsync("end-compare");
        await page.Page.ClickAsync("#tab-revisions");
        await page.ClickAsync("name-1");
        await page.Page.Keyboard.TypeAsync("first pass");
        await page.Page.Keyboard.PressAsync("Enter");
        await page.Page.WaitForFunctionAsync("() => document.querySelector('[data-revision=\"1\"]').textContent.includes('first pass')");
        await page.Page.ClickAsync("[data-key='look-1']");
        await page.Page.WaitForFunctionAsync("() => window.autoplace.shown().revision === 1");
        Assert.True(await page.Page.IsDisabledAsync("[data-key='lock']"));
        await page.ClickAsync("restore-1");
        Assert.Equal(3, (await page.ShownAsync()).Revision);
        Assert.Equal(first, await page.PositionAsync("brow_3_left"));
        Assert.Empty(page.Troubles);
    }
}
