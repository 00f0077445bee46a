// The other checks from photos in Chromium with recorded answers, each from start to saved result: turn, play, part, camera.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { after, before, describe, test } from "node:test";
import { openBrowser, Visit } from "./page.mjs";

/** Photos of a recorded series: the page tells them by their names. */
const series = (kind, count) =>
  Array.from({ length: count }, (_, n) => ({ name: `${kind}-${n + 1}.jpg`, mimeType: "image/jpeg", buffer: Buffer.from("recorded") }));

let browser;

before(async () => (browser = await openBrowser()));
after(() => browser?.close());

/** Whether the unit at the end of each of these numbers stands on one line. */
const unitsWhole = (numbers) =>
  numbers.evaluateAll((all) =>
    all.every(({ firstChild: text }) => {
      const range = document.createRange();
      range.setStart(text, text.data.trimEnd().length - 2);
      range.setEnd(text, text.data.trimEnd().length);
      return new Set([...range.getClientRects()].map((box) => Math.round(box.top))).size === 1;
    }),
  );

for (const name of ["phone", "large-phone-dark"]) {
  describe(name, () => {
    let visit;
    let page;

    const look = (where, full) => visit.look(where, full);
    const press = (label) => visit.press(label);
    const heading = (text) => page.getByRole("heading", { name: text, exact: true }).waitFor();
    const hand = (photos) => page.locator("input[type=file]").setInputFiles(photos);

    /** Taps the photo at shares of its stage. */
    const mark = async (places) => {
      await page.locator(".stage img").waitFor();
      await page.locator(".stage").scrollIntoViewIfNeeded();
      const box = await visit.place(page.locator(".stage"));
      for (const [x, y] of places) {
        const at = [box.x + x * box.width, box.y + y * box.height];
        if (visit.touch) await page.touchscreen.tap(...at);
        else await page.mouse.click(...at);
      }
    };

    const fillBars = async () => {
      await heading("The printed page");
      await page.getByLabel("Bar across").fill("150.0");
      await page.getByLabel("Bar along").fill("150,0");
    };

    before(async () => {
      visit = await Visit.open(name, browser);
      page = visit.page;
      await press("Try the demo board");
      await heading("Kestrel 2");
    });

    after(() => visit?.close());

    test("a turn: the ring fills, nothing needs a mark, screw 1 may have one", async () => {
      await press(/Run-out.*left/);
      await heading("Run-out over a turn, left corner");
      await page.getByText("disconnect the battery").waitFor();
      await look("turn-ready");
      await press("Card and ring are on");
      await page.getByText("8 to 12 photos").waitFor();
      await press("Use the camera");
      await page.getByText("No mount card to be seen").waitFor();
      await page.getByText("Come closer.").waitFor();
      await look("turn-camera", false);
      await page.getByText("Glare on the hub ring").waitFor();
      await look("turn-camera-glare", false);
      await press("Close");
      await hand(series("wheel", 3));
      await page.getByText("1 more at least").waitFor();
      assert.ok(await page.getByRole("button", { name: "Next" }).isDisabled(), "three photos are too few");
      await look("turn-photos-few");
      await hand(series("wheel", 10).slice(3));
      await page.getByText("That is enough").waitFor();
      assert.equal(await page.getByRole("img", { name: "8 of 8 parts of the turn have a photo" }).count(), 1);
      await look("turn-photos");
      await press("Next");
      await page.getByText("Nothing has to be marked here").waitFor();
      await press(/Screw 1/);
      await mark([[0.5, 0.3]]);
      assert.equal(await page.locator('[data-mark="screw_1-0"]').count(), 1);
      await mark([[0.56, 0.34]]);
      assert.equal(await page.locator("[data-mark]").count(), 1, "a second tap moves the screw's mark");
      await look("turn-marks", false);
      await press("Next");
      await fillBars();
      await look("turn-sizes");
      await press("Measure");
      await page.getByText("Off centre", { exact: true }).waitFor();
      await page.getByText("0.359 ± 0.011 mm", { exact: false }).first().waitFor();
      await page.getByText("Why this much?").click();
      await page.waitForTimeout(300);
      await page.getByText("it leads on to “Re-centring”").waitFor();
      await look("turn-answer");
      await page.getByLabel("Work done").fill("Pushed towards screw 3.");
      await press("Save to the history");
      await heading("Run-out, left corner");
      await page.waitForTimeout(300);
      await look("turn-entry");
      await page.getByRole("link", { name: "Re-centring", exact: true }).click();
      await heading("Re-centring, left corner");
      await press("← Kestrel 2");
      await page.getByText("Pushed towards screw 3.").waitFor();
      assert.ok(await unitsWhole(page.locator(".button .numbers")), "a number on a button keeps its unit on one line");
      await look("turn-board");
    });

    test("play: pushed and pulled", async () => {
      await press(/Bearing play.*left/);
      await heading("Bearing play, left corner");
      await look("play-ready");
      await press("Card and ring are on");
      await hand(series("wheel", 1));
      await page.getByText("pull the wheel the other way").waitFor();
      await hand([...series("wheel", 2).slice(1), ...series("part", 1)]);
      await page.getByText("No hub ring found in this photo").waitFor();
      await look("play-photos");
      await press("Remove part-1.jpg");
      await press("Next");
      await fillBars();
      await page.getByLabel("Largest play allowed").fill("0,1");
      await look("play-sizes");
      await press("Measure");
      await page.getByText("Too much play", { exact: true }).waitFor();
      await look("play-answer");
      await press("Save to the history");
      await heading("Bearing play, left corner");
      await press("← Kestrel 2");
    });

    test("belt alignment: every edge in two photos, carried over", async () => {
      await press(/Belt alignment.*left/);
      await heading("Belt alignment, left corner");
      await look("alignment-ready");
      await press("The card is on");
      const bytes = await Promise.all([1, 2].map((n) => readFile(new URL(`../../ui/src/lib/backend/recorded/gap-${n}.jpg`, import.meta.url))));
      await hand(bytes.map((buffer, n) => ({ name: `kestrel-left-${n + 1}.jpg`, mimeType: "image/jpeg", buffer })));
      await page.getByText("Enough to measure").waitFor();
      await press("Next");
      for (const row of [0.2, 0.4, 0.6, 0.8]) await mark([[0.2, row], [0.4, row], [0.6, row]]);
      await page.getByText("Mark each edge in two photos at least.").waitFor();
      await look("alignment-marks", false);
      await page.getByRole("group", { name: "Photos" }).getByRole("button").nth(1).click();
      await press(/Carry the marks over from photo 1/);
      await page.locator('[data-mark="motor_outer-2"]').waitFor();
      await press("Next");
      await fillBars();
      await page.getByLabel("Motor pulley, across its flanges").fill("32");
      await look("alignment-sizes");
      await press("Measure");
      await page.getByText("Out of line", { exact: true }).waitFor();
      await look("alignment-answer");
      await press("Save to the history");
      await heading("Belt alignment, left corner");
      await press("← Kestrel 2");
    });

    test("a part: what is measured is chosen, marked and judged", async () => {
      await press(/A loose part.*right/);
      await heading("A loose part, right corner");
      await look("part-ready");
      await press("The part lies still");
      await hand(series("part", 3));
      await page.getByText("That is enough").waitFor();
      await press("Next");
      await page.getByLabel("Bore").check();
      await page.getByText("Tap the outer rim: 3 more marks.").waitFor();
      await mark([[0.3, 0.3], [0.7, 0.35], [0.5, 0.7]]);
      await page.getByText("Tap the bore: 3 more marks.").waitFor();
      assert.ok(await page.getByRole("button", { name: "Next" }).isDisabled(), "the bore was chosen and is not marked");
      await mark([[0.45, 0.45], [0.58, 0.5], [0.48, 0.58]]);
      await page.getByText("Marked. Drag a mark").waitFor();
      await look("part-marks", false);
      await page.getByLabel("Width between two straight edges").check();
      await mark([[0.2, 0.2], [0.8, 0.2]]);
      await page.getByText("Tap the second straight edge: 2 more marks.").waitFor();
      await mark([[0.2, 0.8], [0.8, 0.8]]);
      await page.getByText("Mark each straight edge in two photos.").waitFor();
      await page.getByRole("group", { name: "Photos" }).getByRole("button").nth(1).click();
      await press(/Carry the marks over from photo 1/);
      await page.locator('[data-mark="edge_b-1"]').waitFor();
      assert.ok(await page.getByRole("button", { name: "Next" }).isEnabled(), "two photos marked are enough");
      await press("Next");
      await fillBars();
      await page.getByLabel("Size it should have").fill("22");
      await page.getByLabel("± how much it may be off").focus();
      await page.keyboard.press("Tab");
      await page.getByText("how much the size may be off").waitFor();
      assert.ok(await page.getByRole("button", { name: "Measure" }).isDisabled(), "a size needs its tolerance");
      await page.getByLabel("± how much it may be off").fill("0.1");
      await look("part-sizes");
      await press("Measure");
      await page.getByText("Outer diameter", { exact: true }).waitFor();
      await page.waitForTimeout(300);
      await look("part-answer");
      await press("Save to the history");
      await heading("Loose part, right corner");
      await press("← Kestrel 2");
    });

    test("a camera: calibrated, kept, forgotten", async () => {
      await press("About");
      await page.getByText("Larkspur L-20 Test, from the demo").waitFor();
      await press("Forget Larkspur L-20 Test");
      await page.getByText("None is kept yet").waitFor();
      await press("Calibrate a camera");
      await heading("Calibrate a camera");
      await look("camera-ready");
      await press("The sheet lies flat");
      await hand(series("lens", 2));
      await page.getByText("1 more at least").waitFor();
      await hand(series("lens", 9).slice(2));
      await page.getByText("That is enough").waitFor();
      await press("Next");
      await page.getByLabel("I have not measured them").check();
      await press("Measure");
      await page.getByText("Good profile", { exact: true }).waitFor();
      await page.waitForTimeout(300);
      await look("camera-answer");
      await press("Keep for later checks");
      await page.getByText("Larkspur L-20 Test").waitFor();
      await look("cameras");
      await press("Forget Larkspur L-20 Test");
      await page.getByText("None is kept yet").waitFor();
    });

    test("nothing broke the policy or threw on the way", () => {
      assert.deepEqual(visit.troubles, []);
    });
  });
}
