// Advice and care in Chromium with recorded answers: every page at a phone's and at a desk's size, its cautions always in sight.
import assert from "node:assert/strict";
import { after, before, beforeEach, describe, test } from "node:test";
import { openBrowser, Visit } from "./page.mjs";

let browser;

before(async () => (browser = await openBrowser()));
after(() => browser?.close());

for (const name of ["phone", "large-phone-dark", "desk"]) {
  describe(name, () => {
    let visit;
    let page;

    const look = (where, full) => visit.look(where, full);
    const press = (label) => visit.press(label);
    const heading = (text) => page.getByRole("heading", { name: text, exact: true }).waitFor();
    /** The standing cautions are on the screen, and nothing hides them. */
    const cautioned = async (where) => {
      for (const words of ["disconnect the battery", "clear of belt and pulleys", "qualified workshop"]) {
        const caution = page.locator(".notice li", { hasText: words }).first();
        await caution.waitFor();
        assert.ok(await caution.isVisible(), `${where}: no caution says "${words}"`);
      }
    };
    before(async () => {
      visit = await Visit.open(name, browser);
      page = visit.page;
      await press("Try the demo board");
      await heading("Kestrel 2");
    });

    // Each test begins at the board, so that one that fails takes no other with it.
    beforeEach(async () => {
      await page.evaluate(() => (location.hash = "#/board/demo"));
      await heading("Advice and care");
    });

    after(() => visit?.close());

    test("spacers: what to fit, and why no other", async () => {
      await press(/^Spacers/);
      await heading("Spacers");
      await page.getByRole("heading", { name: /Fit 29\/64 in on both corners/ }).waitFor();
      await cautioned("spacers");
      await heading("Why not another ring");
      await page.getByText("There is only one 1/2 in ring").waitFor();
      await look("care-spacers");
    });

    test("re-centring: the push in words, numbers and a picture", async () => {
      await press(/^Re-centring, left/);
      await heading("Re-centring, left corner");
      await page.getByRole("heading", { name: /^Push from screw 2 toward the middle between screws 4 and 5/ }).waitFor();
      await cautioned("re-centring");
      const picture = page.getByRole("img", { name: /Push from screw 2/ });
      assert.equal(await picture.locator("circle.screw, circle.first-screw").count(), 5, "the picture is drawn");
      assert.deepEqual(await picture.locator("text.order").allTextContents(), ["1st", "2nd", "3rd", "4th", "5th"]);
      await page.getByText("Push, then measure again, round 1").waitFor();
      const passes = page.locator("tbody tr");
      assert.deepEqual(await passes.nth(1).locator("td").allTextContents(), ["2", "0.17 N m", "1, 3, 5, 2, 4"]);
      const plot = page.getByRole("img", { name: /centre is 0.182 ±\s0.021\smm off the axis, drawn with screw 1 at the top; an arrow/ });
      assert.equal(await plot.locator("circle.screw").count(), 5, "the screws are drawn in place");
      assert.equal(await plot.locator("g:has(path.push)").getAttribute("transform"), "rotate(72)", "the push comes from screw 2");
      await look("care-recentre");
      await press("← Kestrel 2");
      await heading("Kestrel 2");
      await press(/^Re-centring, right/);
      await page.getByText("No turn was measured on the right corner").waitFor();
      await page.getByRole("link", { name: "Measure the turn" }).waitFor();
      await look("care-recentre-none");
    });

    test("shake: force against speed, and masses added", async () => {
      await press(/^Shake, left/);
      await page.getByRole("img", { name: /Force against speed/ }).waitFor();
      await cautioned("shake");
      await press("Add a mass on the wheel");
      assert.ok(await page.getByRole("button", { name: "Work it out" }).isDisabled(), "a mass without numbers is waited for");
      await page.getByLabel("What is on the wheel").fill("valve cap");
      await page.getByLabel("Mass").fill("1,2");
      await page.getByLabel("From the axis").fill("42");
      await press("Work it out");
      await page.getByText("The numbers of the plot").click();
      await page.getByRole("cell", { name: "1.91 ± 0.17" }).waitFor();
      await look("care-shake");
    });

    test("belt: lengths, mesh and alignment", async () => {
      await press(/^Belt Length/);
      await heading("Belt");
      await page.getByText("0.41 ± 0.12°").first().waitFor();
      await cautioned("belt");
      await look("care-belt");
    });

    test("torques: value in three units, who says so, which wrench", async () => {
      await press(/^Torques/);
      const row = page.getByRole("row", { name: /wheel pulley's screws/ });
      await row.waitFor();
      const cells = (await row.getByRole("cell").allTextContents()).map((text) => text.replace(/\s+/g, " ").trim());
      assert.deepEqual(cells.slice(0, 3), ["0.55", "4.9", "0.41"]);
      assert.match(cells[3], /^Common practice, no source/);
      assert.match(cells[4], /torque screwdriver.*0\.52 to 0\.58 N m/i);
      await cautioned("torques");
      await look("care-torques");
    });

    test("service: what is due, how, and written down as done", async () => {
      await press(/^Service checks/);
      await heading("Axle nuts and bearing play");
      await cautioned("service");
      await page.getByLabel("Odometer today").fill("640");
      await press("Show what is due");
      await look("care-service");
      const card = page.locator("article", { hasText: "Axle nuts and bearing play" });
      await card.getByText("How to do it").click();
      await card.getByText("until the play is just gone and no further").waitFor();
      assert.ok(await card.locator(".notice li", { hasText: "disconnect the battery" }).isVisible(), "steps come with their cautions");
      await card.getByText("every 200 km or 60 days").waitFor();
      await card.getByLabel("Done on").fill("2026-04-01");
      await card.getByRole("button", { name: /Write it down as done/ }).click();
      await page.getByText("2026-04-01 is still to come").waitFor();
      await card.getByLabel("Done on").fill("");
      await card.getByLabel("What was found").fill("no play");
      await card.getByRole("button", { name: /Write it down as done/ }).click();
      await card.getByText("Last done 14 Mar 2026, at 640 km: no play").waitFor();
      await card.getByText("13 May 2026, in 60 days").waitFor();
      await look("care-service-done");
    });

    test("the drive's description: help, contradictions, and kept by the board's own form", async () => {
      await press(/^The belt drive/);
      await page.getByText("Nobody has described this drive yet").waitFor();
      await cautioned("drive");
      await page.getByText("Count them; mark one with a pencil first.").first().waitFor();
      await page.getByLabel("Teeth of the motor pulley").fill("15.5");
      await page.getByText("A whole number.").waitFor();
      assert.ok(await page.getByRole("button", { name: "Keep the description" }).isDisabled());
      await page.getByLabel("Teeth of the motor pulley").fill("15");
      await page.getByLabel("Teeth of the belt").fill("40");
      await press("Keep the description");
      await page.getByText("The drive contradicts itself").waitFor();
      await look("care-drive-contradiction");
      await page.getByLabel("Teeth of the belt").fill("85");
      await press("Add a clearance");
      assert.ok(await page.getByRole("button", { name: "Keep the description" }).isDisabled(), "a clearance wants its numbers");
      await press("Remove");
      await press("Keep the description");
      await page.getByText("Kept. Nothing in it contradicts itself.").waitFor();
      await look("care-drive");
      await press("← Kestrel 2");
      await press("Edit");
      await page.getByLabel("Owner").fill("Ada");
      await press("Save the board");
      await heading("Kestrel 2");
      await press(/^The belt drive/);
      await page.getByLabel("Teeth of the motor pulley").waitFor();
      assert.equal(await page.getByLabel("Teeth of the motor pulley").inputValue(), "15");
      assert.equal(await page.getByText("Nobody has described this drive yet").count(), 0);
    });
  });
}
