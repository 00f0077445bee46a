// Comfort in Chromium with recorded answers: themes, text at 200 %, the left hand, and a check that is there again.
import assert from "node:assert/strict";
import { after, before, describe, test } from "node:test";
import { openBrowser, Visit } from "./page.mjs";

/** Screens by their addresses, with the words that show that they are there. */
const SCREENS = [
  ["boards", "#/boards", "Boards"],
  ["board", "#/board/demo", "Kestrel 2"],
  ["board-form", "#/board/demo/edit", "Edit the board"],
  ["gap", "#/board/demo/check/left", "Gap check, left corner"],
  ["turn", "#/board/demo/check/right/turn", "Run-out over a turn, right corner"],
  ["play", "#/board/demo/check/right/play", "Bearing play, right corner"],
  ["alignment", "#/board/demo/check/right/alignment", "Belt alignment, right corner"],
  ["part", "#/board/demo/check/right/part", "A loose part, right corner"],
  ["tension", "#/board/demo/tension/left", "Belt tension, left corner"],
  ["entry", "#/board/demo/entry/past-0", "Gap, left corner"],
  ["records", "#/board/demo/records", "Records"],
  ["keep", "#/keep", "Keep the history"],
  ["camera", "#/camera", "Calibrate a camera"],
  ["rings", "#/rings", "Spacer rings"],
  ["print", "#/print", "Print the cards"],
  ["about", "#/about", "About and settings"],
];

let browser;

before(async () => (browser = await openBrowser("?past")));
after(() => browser?.close());

const open = async (name) => {
  const visit = await Visit.open(name, browser);
  await visit.press("Try the demo board");
  await visit.page.getByRole("heading", { name: "Kestrel 2" }).waitFor();
  return visit;
};

/** The page begins anew; what its storage keeps stays. The recorded board is gone and comes back by a press. */
const again = async (visit) => {
  await visit.page.evaluate(() => (location.hash = "#/boards"));
  await visit.page.reload();
  await visit.press("Try the demo board");
  await visit.page.getByRole("heading", { name: "Kestrel 2" }).waitFor();
};

const round = async (visit, comfort) => {
  await visit.page.evaluate((kept) => localStorage.setItem("comfort", JSON.stringify(kept)), comfort);
  await again(visit);
  for (const [name, address, heading] of SCREENS) {
    await visit.page.evaluate((hash) => (location.hash = hash), address);
    await visit.page.getByRole("heading", { name: heading, level: 1 }).waitFor();
    await visit.look(`${comfort.theme}-${comfort.text}-${name}`);
  }
  await visit.page.evaluate(() => (location.hash = "#/board/demo/check/right/turn"));
  await visit.press("Card and ring are on");
  await visit.press("Use the camera");
  await visit.page.getByText("Glare on the hub ring").waitFor();
  await visit.look(`${comfort.theme}-${comfort.text}-live`, false);
  await visit.press("Close");
};

for (const [name, comforts] of [
  ["phone", [{ theme: "sunlight", text: 100, hand: "left" }, { theme: "light", text: 200, hand: "right" }]],
  ["large-phone-dark", [{ theme: "device", text: 100, hand: "right" }]],
  ["desk", [{ theme: "dark", text: 100, hand: "right" }, { theme: "light", text: 200, hand: "left" }]],
]) {
  describe(name, () => {
    for (const comfort of comforts) {
      test(`every screen: ${comfort.theme}, text at ${comfort.text} %, ${comfort.hand} hand`, async () => {
        const visit = await open(name);
        await round(visit, comfort);
        const size = await visit.page.evaluate(() => Number.parseFloat(getComputedStyle(document.documentElement).fontSize));
        assert.equal(size, (17 * comfort.text) / 100);
        assert.deepEqual(visit.troubles, []);
        await visit.close();
      });
    }
  });
}

test("a check that was under way is there again after the page ended without a word", async () => {
  const visit = await open("phone");
  const { page } = visit;
  await visit.press(/Run-out.*left/);
  await visit.press("Card and ring are on");
  const photos = Array.from({ length: 5 }, (_, n) => ({ name: `wheel-${n + 1}.jpg`, mimeType: "image/jpeg", buffer: Buffer.from("recorded") }));
  await page.locator("input[type=file]").setInputFiles(photos);
  await page.getByText("Enough to measure").waitFor();
  await visit.press("Next");
  await visit.press(/Screw 1/);
  await visit.press("Mark the middle");
  await page.locator('[data-mark="screw_1-0"]').waitFor();
  await visit.press("Next");
  await page.getByLabel("Bar across").fill("150.2");
  // Longer than the page lets a change rest before it writes it down.
  await page.waitForTimeout(700);
  await again(visit);
  await page.getByText("Run-out over a turn, left corner: under way.").waitFor();
  await visit.look("draft-board");
  await visit.press("Go on");
  assert.equal(await page.getByLabel("Bar across").inputValue(), "150.2");
  await visit.press("Back");
  await page.locator('[data-mark="screw_1-0"]').waitFor();
  await visit.press("Leave");
  await visit.press("Throw it away");
  await page.getByRole("heading", { name: "Kestrel 2" }).waitFor();
  await again(visit);
  assert.equal(await page.getByText("under way.").count(), 0, "what was thrown away stays away");
  await visit.close();
});
