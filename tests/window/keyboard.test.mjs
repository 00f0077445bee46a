// Every check from the board to its saved result by keyboard alone, in Chromium with recorded answers.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { after, before, test } from "node:test";
import { openBrowser, Visit } from "./page.mjs";

let browser;

before(async () => (browser = await openBrowser()));
after(() => browser?.close());

/** Photos of a recorded series: the page tells them by their names. */
const series = (kind, count) =>
  Array.from({ length: count }, (_, n) => ({ name: `${kind}-${n + 1}.jpg`, mimeType: "image/jpeg", buffer: Buffer.from("recorded") }));

const gapPhotos = (count) =>
  Promise.all(
    Array.from({ length: count }, async (_, n) => ({
      name: `kestrel-left-${n + 1}.jpg`,
      mimeType: "image/jpeg",
      buffer: await readFile(new URL(`../../ui/src/lib/backend/recorded/gap-${n + 1}.jpg`, import.meta.url)),
    })),
  );

/** A visit in which nothing but keys is used. */
class Keys {
  constructor(visit) {
    this.visit = visit;
    this.page = visit.page;
  }

  /** Tabs on until what is focused bears a name. */
  reach = async (words) => {
    for (let n = 0; n < 80; n += 1) {
      await this.page.keyboard.press("Tab");
      const found = await this.page.evaluate((text) => {
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

  /** Reaches something and presses it. */
  go = async (words, key = "Enter") => {
    await this.reach(words);
    await this.page.keyboard.press(key);
  };

  /** Types into a field. */
  async fill(words, text) {
    await this.reach(words);
    await this.page.keyboard.type(text);
  }

  /** Hands files in by a button that asks for them. */
  async hand(words, files) {
    await this.reach(words);
    const chooser = this.page.waitForEvent("filechooser");
    await this.page.keyboard.press("Enter");
    await (await chooser).setFiles(files);
  }

  /** Marks so many places, each beside the photo's middle. */
  async mark(count) {
    const marks = this.page.locator("[data-mark]");
    for (let n = 0; n < count; n += 1) {
      const before = await marks.count();
      await this.go("Mark the middle");
      await marks.nth(before).waitFor();
      // The mark takes the focus a moment after it is there; a key pressed before would go elsewhere.
      await this.page.waitForFunction(() => document.activeElement?.hasAttribute("data-mark"));
      for (let step = 0; step <= n; step += 1) await this.page.keyboard.press(n % 2 ? "Shift+ArrowRight" : "Shift+ArrowUp");
    }
  }

  async bars() {
    await this.page.getByRole("heading", { name: "The printed page" }).waitFor();
    for (const bar of ["Bar across", "Bar along"]) await this.fill(bar, "150");
  }

  /** Measures, waits for the verdict, saves, and sees it in the history. */
  async end(verdict, heading, keep = "Save to the history") {
    await this.go("Measure");
    await this.page.getByText(verdict, { exact: true }).first().waitFor();
    await this.go(keep);
    await this.page.getByRole("heading", { name: heading }).waitFor();
    assert.deepEqual(this.visit.troubles, []);
    await this.visit.close();
  }
}

/** Opens the demo board, a check of it, and goes on from its first screen. */
async function begin(check, ready) {
  const visit = await Visit.open("desk", browser);
  const keys = new Keys(visit);
  // The browser hands the question for files over once somebody listens; a first listener at the press would come too late.
  visit.page.on("filechooser", () => {});
  await visit.page.getByRole("button", { name: "Try the demo board" }).waitFor();
  await keys.go("Try the demo board");
  await visit.page.getByRole("heading", { name: "Kestrel 2" }).waitFor();
  await keys.go(check);
  if (ready) await keys.go(ready);
  return keys;
}

test("a gap", async () => {
  const keys = await begin("Check the gap.*left corner", "The card is on");
  await keys.hand("Add photos", await gapPhotos(3));
  await keys.page.getByText("That is enough").waitFor();
  await keys.go("Next");
  await keys.mark(5);
  await keys.page.getByText("Both edges are marked").waitFor();
  await keys.go("Next");
  await keys.bars();
  await keys.end("Too tight", "Gap, left corner");
});

test("a turn, with a photo taken by the camera", async () => {
  const keys = await begin("Run-out over a turn, left corner", "Card and ring are on");
  const { page, reach, go } = keys;
  await go("Use the camera");
  await page.getByRole("dialog").getByText("of 8 parts").or(page.getByText("Come closer.")).first().waitFor();
  await reach("By itself");
  await page.keyboard.press("Space");
  await go("Take a photo");
  await page.getByText("Photo 1 taken.").waitFor();
  await page.keyboard.press("Escape");
  await go("Remove turn-1.jpg");
  await keys.hand("Add photos", series("wheel", 9));
  await page.getByText("That is enough").waitFor();
  await go("Next");
  await page.getByText("Nothing has to be marked here").waitFor();
  await go("Screw 1");
  await go("Mark the middle");
  const mark = page.locator('[data-mark="screw_1-0"]');
  await mark.waitFor();
  // The mark takes the focus a moment after it is there; a key pressed before would go elsewhere.
  await page.waitForFunction(() => document.activeElement?.getAttribute("data-mark") === "screw_1-0");
  const from = await mark.getAttribute("transform");
  await page.keyboard.press("Shift+ArrowUp");
  assert.notEqual(await mark.getAttribute("transform"), from);
  await go("Next");
  await keys.bars();
  await keys.end("Off centre", "Run-out, left corner");
});

test("play", async () => {
  const keys = await begin("Bearing play.*left corner", "Card and ring are on");
  await keys.hand("Add photos", series("wheel", 2));
  await keys.page.getByText("wheel-2.jpg").first().waitFor();
  await keys.go("Next");
  await keys.bars();
  await keys.end("Too much play", "Bearing play, left corner");
});

test("an alignment, its marks carried over", async () => {
  const keys = await begin("Belt alignment.*left corner", "The card is on");
  await keys.hand("Add photos", await gapPhotos(2));
  await keys.page.getByText("Enough to measure").waitFor();
  await keys.go("Next");
  await keys.mark(12);
  await keys.page.getByText("Mark each edge in two photos at least.").waitFor();
  // Its button bears the number alone.
  await keys.go("^\\s*2");
  await keys.go("Carry the marks over from photo 1");
  await keys.page.locator('[data-mark="motor_outer-2"]').waitFor();
  await keys.go("Next");
  await keys.bars();
  await keys.fill("Motor pulley, across its flanges", "32");
  await keys.end("Out of line", "Belt alignment, left corner");
});

test("a loose part", async () => {
  const keys = await begin("A loose part.*right corner", "The part lies still");
  await keys.hand("Add photos", series("part", 3));
  await keys.page.getByText("That is enough").waitFor();
  await keys.go("Next");
  await keys.mark(3);
  await keys.go("Next");
  await keys.bars();
  await keys.end("Outer diameter", "Loose part, right corner");
});

test("a belt's tension", async () => {
  const keys = await begin("Belt tension.*left corner");
  await keys.hand("Or choose a WAV file", [{ name: "plucks.wav", mimeType: "audio/wav", buffer: Buffer.from("recorded") }]);
  await keys.page.getByText("plucks.wav").waitFor();
  await keys.fill("Free span", "98.6");
  await keys.fill("Belt mass", "58.5");
  await keys.fill("± of that, g/m", "3");
  await keys.go("Tell the tension");
  await keys.page.getByText("± 4 N", { exact: true }).waitFor();
  await keys.go("Save to the history");
  await keys.page.getByText("Left, 51 ± 4 N").waitFor();
  await keys.visit.close();
});

test("a camera", async () => {
  const keys = await begin("About");
  await keys.go("Calibrate a camera");
  await keys.go("The sheet lies flat");
  await keys.hand("Add photos", series("lens", 9));
  await keys.page.getByText("That is enough").waitFor();
  await keys.go("Next");
  await keys.go("I have measured both bars", "ArrowDown");
  assert.ok(await keys.page.getByLabel("I have not measured them").isChecked());
  await keys.end("Good profile", "About and settings", "Keep for later checks");
});
