// The page in Chromium in German and French, with recorded answers, on the narrowest screen: the system's language, the
// choice that is kept, and every screen, where longer words must still fit.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { after, before, describe, test } from "node:test";
import { openBrowser, Visit } from "./page.mjs";

const TEXTS = Object.fromEntries(
  await Promise.all(
    ["en", "de", "fr"].map(async (language) => [language, JSON.parse(await readFile(new URL(`../../ui/src/lib/words/${language}.json`, import.meta.url), "utf8"))]),
  ),
);

/** Screens by their addresses, with the text that heads each; the board's own name heads its screen. */
const SCREENS = [
  ["boards", "nav.boards"],
  ["board/demo", null],
  ["board/demo/edit", "board.edit-title"],
  ["board/new", "board.new"],
  ["board/demo/check/left", "plan.gap"],
  ["board/demo/check/right/turn", "board.turn"],
  ["board/demo/check/right/play", "check.play"],
  ["board/demo/check/right/alignment", "check.alignment"],
  ["board/demo/check/right/part", "board.part"],
  ["board/demo/tension/left", "check.tension"],
  ["board/demo/entry/past-0", "check.gap"],
  ["board/demo/records", "board.records"],
  ["board/demo/care/spacers", "care.spacers"],
  ["board/demo/care/recentre/left", "care.recentre"],
  ["board/demo/care/shake/left", "care.shake"],
  ["board/demo/care/belt", "care.belt"],
  ["board/demo/care/torques", "care.torques"],
  ["board/demo/care/service", "care.service"],
  ["board/demo/care/drive", "care.drive"],
  ["keep", "keep.title"],
  ["camera", "settings.calibrate"],
  ["rings", "rings.title"],
  ["print", "print.title"],
  ["about", "settings.title"],
];

/** What is done on a screen, so that what it tells then is looked at as well. */
const DONE = {
  camera: async (visit, texts) => {
    const { page } = visit;
    await page.locator(".bottom .lead").click();
    await page.locator("input[type=file]").setInputFiles([1, 2, 3, 4, 5, 6, 7, 8, 9].map((n) => ({ name: `lens-${n}.jpg`, mimeType: "image/jpeg", buffer: Buffer.from("recorded") })));
    await page.locator("article").nth(8).waitFor();
    await visit.press(texts["check.next"]);
    await page.getByLabel(texts["sizes.bars-not-measured"]).check();
    await visit.press(texts["board.measure"]);
    await page.getByRole("button", { name: texts["check.keep-camera"] }).waitFor();
  },
  keep: async (visit, texts) => {
    const { page } = visit;
    await visit.press(texts["keep.back-up-now"]);
    await page.getByText(texts["keep.backup-written"]).waitFor();
    await page.locator("input[type=file]").setInputFiles([{ name: "kestrel-changed.zip", mimeType: "application/zip", buffer: Buffer.from("PK") }]);
    await page.locator(".outcome").waitFor();
  },
};

/** What the measuring part says in English, as far as it holds no values, and is a sentence. */
const ENGINE = JSON.parse(await readFile(new URL("../../ui/src/lib/words/engine/templates.json", import.meta.url), "utf8")).filter(
  (code) => !code.includes("{") && code.split(" ").length > 3,
);
let browser;

before(async () => (browser = await openBrowser("?past")));
after(() => browser?.close());

const languageOf = (page) => page.evaluate(() => document.documentElement.lang);
/** Words that run over two lines because their place is too narrow for them, and not at a hyphen. */
const brokenWords = (page) =>
  page.evaluate(() => {
    const broken = [];
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const range = document.createRange();
    while (walker.nextNode()) {
      const node = walker.currentNode;
      // Hidden words have a place of one pixel, and paths may break anywhere.
      if (!node.parentElement.checkVisibility() || node.parentElement.closest(".visually-hidden, .path, .file, option, svg")) continue;
      for (const word of node.data.matchAll(/(?<![\p{L}\u00ad-])\p{L}{2,}(?![\p{L}\u00ad-])/gu)) {
        range.setStart(node, word.index);
        range.setEnd(node, word.index + word[0].length);
        const lines = new Set([...range.getClientRects()].map((box) => Math.round(box.top)));
        if (lines.size > 1) broken.push(word[0]);
      }
    }
    return broken;
  });
/** What sticks out of the sheet that it stands on, which is less than sticking out of the screen. */
const outOfSheet = (page) =>
  page.evaluate(() =>
    [...document.querySelectorAll("main .sheet :is(p, dd, th, td, li, button, a)")]
      .filter((node) => node.checkVisibility() && node.getBoundingClientRect().right > node.closest(".sheet").getBoundingClientRect().right + 0.5)
      .map((node) => node.textContent.trim().slice(0, 60)),
  );
/** English sentences of the measuring part on the page, also in what is folded away. */
const english = (page, engine) =>
  page.evaluate((engine) => {
    const words = (text) => (text.match(/\p{L}{2,}/gu) ?? []).length;
    const marked = [...document.querySelectorAll('main [lang="en"]')].map((node) => node.textContent.trim()).filter((text) => words(text) > 2);
    const all = document.querySelector("main").textContent.toLowerCase();
    return [...marked, ...engine.filter((text) => all.includes(text.toLowerCase()))];
  }, engine);
/** The system's languages, before the page's own scripts run. */
const speaks = (language) => `Object.defineProperty(Navigator.prototype, "languages", { get: () => ["${language}"] })`;

for (const [language, system] of [["de", "de-AT"], ["fr", "fr-CA"]]) {
  describe(language, () => {
    test(`every screen, where the system speaks ${system}`, async () => {
      const visit = await Visit.open("phone", browser, speaks(system));
      const { page } = visit;
      const texts = TEXTS[language];
      await visit.press(texts["common.try-demo"]);
      await page.getByRole("heading", { name: "Kestrel 2" }).waitFor();
      assert.equal(await languageOf(page), language);
      for (const [address, key] of SCREENS) {
        await page.evaluate((hash) => (location.hash = hash), `#/${address}`);
        await page.getByRole("heading", { name: key ? texts[key] : "Kestrel 2", level: 1 }).first().waitFor();
        await page.waitForLoadState("networkidle");
        await DONE[address]?.(visit, texts);
        const where = `${language}-${address.replaceAll("/", "-")}`;
        await visit.look(where);
        assert.deepEqual(await brokenWords(page), [], `${where}: a word is broken`);
        assert.deepEqual(await outOfSheet(page), [], `${where}: out of its sheet`);
        assert.deepEqual(await english(page, ENGINE), [], `${where}: said in English`);
      }
      assert.deepEqual(visit.troubles, []);
      await visit.close();
    });
  });
}

test("what is said in English only is marked so, and such a failure has a head in the page's language", async () => {
  const visit = await Visit.open("phone", browser, speaks("de-DE"));
  const { page } = visit;
  const english = (text) => page.locator('[lang="en"]', { hasText: text }).first();
  await visit.press(TEXTS.de["common.try-demo"]);
  await page.getByRole("heading", { name: "Kestrel 2" }).waitFor();
  await page.evaluate(() => (location.hash = "#/board/demo/check/left"));
  await visit.press(TEXTS.de["plan.card-is-on"]);
  await page.locator("input[type=file]").setInputFiles({ name: "notes.txt", mimeType: "text/plain", buffer: Buffer.from("no photo") });
  await page.getByText(TEXTS.de["failure.bad-input"]).waitFor();
  await english("This file is not a photo that can be read.").waitFor();
  await english("Hand in JPEG, PNG, TIFF or WebP.").waitFor();
  await visit.look("de-failure");
  await page.evaluate(() => (location.hash = "#/board/demo/care/recentre/left"));
  await page.getByRole("heading", { name: TEXTS.de["care.recentre"], level: 1 }).waitFor();
  await page.locator('h2 [lang="de"]').first().waitFor();
  await visit.close();
});

test("the choice of a language is seen at once, kept, and can be given back to the system", async () => {
  const visit = await Visit.open("phone", browser);
  const { page } = visit;
  await page.evaluate(() => (location.hash = "#/about"));
  const about = (language) => page.getByRole("heading", { name: TEXTS[language]["settings.title"], level: 1 }).waitFor();
  await about("en");
  await page.getByText("Deutsch").tap();
  await about("de");
  assert.equal(await languageOf(page), "de");
  await page.reload();
  await about("de");
  await page.getByText("Français").tap();
  await about("fr");
  await page.getByText(TEXTS.fr["settings.language-system"]).tap();
  await about("en");
  assert.equal(await languageOf(page), "en");
  assert.deepEqual(visit.troubles, []);
  await visit.close();
});
