// Comfort in Chromium with recorded answers: themes, text at 200 %, the left hand, and a whole check by keyboard alone.
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

test("a turn check by keyboard alone, from the board to the saved result", async () => {
  const visit = await open("desk");
  const { page } = visit;
  /** Tabs on until what is focused bears a name. */
  const reach = async (words) => {
    for (let n = 0; n < 80; n += 1) {
      await page.keyboard.press("Tab");
      const found = await page.evaluate((text) => {
        // The page itself has the focus while nothing has, and holds every word.
        const node = document.activeElement === document.body ? null : document.activeElement;
        const label = node?.labels?.[0]?.textContent ?? "";
        // Whole words: “Measured with” is not “Measure”.
        return new RegExp(`${text}(?!\\w)`).test(`${node?.textContent ?? ""} ${node?.getAttribute("aria-label") ?? ""} ${label}`);
      }, words);
      if (found) return;
    }
    assert.fail(`“${words}” cannot be reached by the Tab key`);
  };
  // The browser hands the question for files over once somebody listens; a first listener at the press would come too late.
  page.on("filechooser", () => {});
  await reach("Run-out over a turn, left corner");
  await page.keyboard.press("Enter");
  await page.getByRole("heading", { name: "Run-out over a turn, left corner" }).waitFor();
  await reach("Card and ring are on");
  await page.keyboard.press("Enter");
  await reach("Use the camera");
  await page.keyboard.press("Enter");
  await page.getByRole("dialog").getByText("of 8 parts").or(page.getByText("Come closer.")).first().waitFor();
  await reach("By itself");
  await page.keyboard.press("Space");
  await reach("Take a photo");
  await page.keyboard.press("Enter");
  await page.getByText("Photo 1 taken.").waitFor();
  await page.keyboard.press("Escape");
  await reach("Remove turn-1.jpg");
  await page.keyboard.press("Enter");
  await reach("Add photos");
  const chooser = page.waitForEvent("filechooser");
  await page.keyboard.press("Enter");
  const photos = Array.from({ length: 9 }, (_, n) => ({ name: `wheel-${n + 1}.jpg`, mimeType: "image/jpeg", buffer: Buffer.from("recorded") }));
  await (await chooser).setFiles(photos);
  await page.getByText("That is enough").waitFor();
  await reach("Next");
  await page.keyboard.press("Enter");
  await page.getByText("Nothing has to be marked here").waitFor();
  await reach("Screw 1");
  await page.keyboard.press("Enter");
  await reach("Mark the middle");
  await page.keyboard.press("Enter");
  const mark = page.locator('[data-mark="screw_1-0"]');
  await mark.waitFor();
  // The mark takes the focus a moment after it is there; a key pressed before would go elsewhere.
  await page.waitForFunction(() => document.activeElement?.getAttribute("data-mark") === "screw_1-0");
  const from = await mark.getAttribute("transform");
  await page.keyboard.press("Shift+ArrowUp");
  assert.notEqual(await mark.getAttribute("transform"), from);
  await reach("Next");
  await page.keyboard.press("Enter");
  for (const bar of ["Bar across", "Bar along"]) {
    await reach(bar);
    await page.keyboard.type("150");
  }
  await reach("Measure");
  await page.keyboard.press("Enter");
  await page.getByText("Off centre", { exact: true }).waitFor();
  await reach("Save to the history");
  await page.keyboard.press("Enter");
  await page.getByRole("heading", { name: "Run-out, left corner" }).waitFor();
  await visit.close();
});

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
