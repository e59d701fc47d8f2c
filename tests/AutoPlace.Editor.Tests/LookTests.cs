using Microsoft.Playwright;
using SixLabors.ImageSharp;
using SixLabors.ImageSharp.PixelFormats;
using Xunit;

namespace AutoPlace.Editor.Tests;

/// <summary>What can be seen: colours on the plate, layout, and what axe-core finds.</summary>
[Collection(EditorTests.Name)]
public class LookTests(EditorFixture editor)
{
    // Yellow of the palette of Okabe and Ito (2008) as published; brows are drawn in it.
    private static readonly Rgb24 Yellow = new(0xF0, 0xE4, 0x42);

    // Anti-aliasing and the rim of a mark change single pixels of it, never its middle: 8-bit levels.
    private const int ColourTolerance = 12;

    [Fact]
    public async Task Picking_a_region_keeps_its_colours_and_fades_the_rest()
    {
        await using EditorPage page = await editor.OpenSharedAsync();
        (float x, float y) = await page.WhereIsAsync("brow_3_left");
        using (Image<Rgb24> all = await page.PictureAsync("plate-light"))
        {
            Assert.True(Apart(all[(int)x, (int)y], Yellow) <= ColourTolerance, $"{all[(int)x, (int)y]}");
        }

        await page.PickRegionAsync("lip");
        using (Image<Rgb24> lip = await page.PictureAsync("region-lip"))
        {
            Assert.True(Apart(lip[(int)x, (int)y], Yellow) > 4 * ColourTolerance, $"{lip[(int)x, (int)y]}");
        }

        await page.PickRegionAsync("brow");
        using Image<Rgb24> brow = await page.PictureAsync("region-brow");
        Assert.True(Apart(brow[(int)x, (int)y], Yellow) <= ColourTolerance, $"{brow[(int)x, (int)y]}");
    }

    [Fact]
    public async Task Turning_zooming_and_fixed_views_change_what_is_seen_and_come_back()
    {
        await using EditorPage page = await editor.OpenSharedAsync();
        await page.ClickAsync("view-front");
        (float x, float y) = await page.WhereIsAsync("pronasale");
        await page.Page.Mouse.MoveAsync(x + 200, y);
        await page.Page.Mouse.WheelAsync(0, -240);
        await page.PressAsync("Control+ArrowLeft");
        await page.Page.FocusAsync("canvas");
        await page.PressAsync("Control+ArrowLeft");
        Assert.NotEqual((x, y), await page.WhereIsAsync("pronasale"));
        await page.PressAsync("1");
        (float backX, float backY) = await page.WhereIsAsync("pronasale");
        Assert.Equal(x, backX, 0.5);
        Assert.Equal(y, backY, 0.5);
        await page.ClickAsync("four");
        Assert.Equal(4, await page.Page.Locator(".caption").CountAsync());
        using (await page.PictureAsync("four-light"))
        {
        }

        await page.ClickAsync("network");
        await page.Page.WaitForSelectorAsync(".network-figures figure");
        Assert.True(await page.Page.Locator(".network-figures .landmark-cross").CountAsync() > 60);
        await page.Page.WaitForFunctionAsync("() => [...document.querySelectorAll('.network img')].every((image) => image.naturalWidth === 256)");
        using (await page.PictureAsync("network"))
        {
        }

        Assert.Empty(page.Troubles);
    }

    [Theory]
    [InlineData(1280, 720, ColorScheme.Light)]
    [InlineData(1280, 720, ColorScheme.Dark)]
    [InlineData(1920, 1080, ColorScheme.Dark)]
    public async Task Nothing_runs_out_of_its_place(int width, int height, ColorScheme scheme)
    {
        await using EditorPage page = await editor.OpenDemoAsync("maren.glb", width, height, scheme);
        string name = $"{scheme}-{width}".ToLowerInvariant();
        await page.Page.Locator("[data-key^='next-']").First.ClickAsync();
        await page.SettledAsync();
        await page.Page.SelectOptionAsync("[data-key='follow']", "distance");
        await page.SettledAsync();
        using (await page.PictureAsync($"chosen-{name}"))
        {
        }

        await AssertLayoutAsync(page);
        await page.PressAsync("k");
        await AssertLayoutAsync(page);
        await page.ClickAsync("four");
        await page.Page.CheckAsync("[data-key='layer-loops']");
        await page.SettledAsync();
        using (await page.PictureAsync($"four-{name}"))
        {
        }

        await AssertLayoutAsync(page);
        Assert.Equal(scheme == ColorScheme.Dark ? "dark" : "light", await page.Page.GetAttributeAsync("html", "data-theme"));
    }

    [Theory]
    [InlineData(ColorScheme.Light)]
    [InlineData(ColorScheme.Dark)]
    public async Task Axe_finds_nothing_serious(ColorScheme scheme)
    {
        string script = Path.Combine(Requirements.EditorFolder, "node_modules", "axe-core", "axe.min.js");
        Assert.SkipUnless(File.Exists(script), "axe-core isn't installed: npm ci in src/AutoPlace.Editor");
        string axe = await File.ReadAllTextAsync(script, TestContext.Current.CancellationToken);
        await using (EditorPage opening = await editor.OpenAsync(scheme: scheme))
        {
            await opening.Page.WaitForSelectorAsync("[data-demo]");
            using (await opening.PictureAsync($"opening-{scheme}".ToLowerInvariant()))
            {
            }

            await AssertAccessibleAsync(opening, axe);
        }

        await using EditorPage page = await editor.OpenSharedAsync("maren.glb", scheme: scheme);
        await AssertAccessibleAsync(page, axe);
        await page.ClickJointAsync("lip_corner_left");
        await page.Page.ClickAsync("#tab-revisions");
        await AssertAccessibleAsync(page, axe);
        await page.Page.ClickAsync("#tab-files");
        await AssertAccessibleAsync(page, axe);
        await page.Page.ClickAsync("#tab-motion");
        await page.ClickAsync("motion");
        await page.Page.WaitForSelectorAsync("[data-motion='jaw']");
        await AssertAccessibleAsync(page, axe);
        await page.ClickAsync("keys");
        await AssertAccessibleAsync(page, axe);
    }

    private static async Task AssertAccessibleAsync(EditorPage page, string axe)
    {
        await page.Page.EvaluateAsync(axe);
        string[] found = await page.Page.EvaluateAsync<string[]>("""
            async () => (await axe.run(document)).violations.filter((v) => v.impact === 'serious' || v.impact === 'critical')
              .map((v) => `${v.id}: ${v.nodes.map((node) => node.html).join(' | ')}`)
            """);
        Assert.Empty(found);
    }

    // No scrolling sideways, nothing outside the window, and no text of label or views' line cut off or on top of the next.
    private static async Task AssertLayoutAsync(EditorPage page)
    {
        string[] faults = await page.Page.EvaluateAsync<string[]>("""
            () => {
              const faults = [];
              if (document.documentElement.scrollWidth > innerWidth) { faults.push('the page scrolls sideways'); }
              for (const line of document.querySelectorAll('.label .line, .directions, .masthead, .tabs, .status')) {
                const box = line.getBoundingClientRect();
                const children = [...line.children].filter((child) => child.getBoundingClientRect().width > 0);
                for (const child of children) {
                  const rectangle = child.getBoundingClientRect();
                  if (rectangle.right > box.right + 1 || rectangle.bottom > innerHeight + 1) { faults.push(`${line.className}: ${child.textContent || child.tagName} runs out`); }
                }
                children.slice(1).forEach((child, i) => {
                  const before = children[i].getBoundingClientRect();
                  const rectangle = child.getBoundingClientRect();
                  if (rectangle.top < before.bottom && rectangle.left < before.right - 1) { faults.push(`${line.className}: ${child.textContent} lies on what is before it`); }
                });
              }
              return faults;
            }
            """);
        Assert.Empty(faults);
    }

    private static int Apart(Rgb24 a, Rgb24 b) => Math.Max(Math.Abs(a.R - b.R), Math.Max(Math.Abs(a.G - b.G), Math.Abs(a.B - b.B)));
}
