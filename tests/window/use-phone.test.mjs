// "Use a phone" in the page in Chromium, with recorded answers: how a phone gets in, what arrives, and what happened, in
// every language.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import { after, before, describe, test } from "node:test";
import { openBrowser, Visit } from "./page.mjs";

let browser;

before(async () => (browser = await openBrowser()));
after(() => browser?.close());

/** The names of what is pressed, by language. */
const WORDS = Object.fromEntries(
  await Promise.all(
    ["en", "de", "fr"].map(async (language) => {
      const texts = JSON.parse(await readFile(new URL(`../../ui/src/lib/words/${language}.json`, import.meta.url), "utf8"));
      const names = { demo: "common.try-demo", begin: "plan.both-are-on", use: "use-phone.title", letIn: "use-phone.let-in", log: "use-phone.log", end: "use-phone.end", close: "use-phone.close" };
      return [language, Object.fromEntries(Object.entries(names).map(([name, key]) => [name, texts[key]]))];
    }),
  ),
);
const speaks = (language) => `Object.defineProperty(Navigator.prototype, "languages", { get: () => ["${language}"] })`;

/** Opens the photos step of a check and lets a phone in. */
async function letIn(visit, words, address, begin = words.begin) {
  const { page } = visit;
  await visit.press(words.demo);
  await page.getByRole("heading", { name: "Kestrel 2" }).waitFor();
  await page.evaluate((hash) => (location.hash = hash), address);
  await visit.press(begin);
  await visit.press(words.use);
  await page.getByText("192.168.1.20", { exact: true }).waitFor();
  await visit.look("use-phone");
  await visit.press(words.letIn);
  await page.getByText("4821 0937").waitFor();
}

for (const [size, language] of [["phone", "en"], ["desk-dark", "en"], ["phone", "de"], ["phone", "fr"]]) {
  test(`a turn's photos come from a phone: ${size}, ${language}`, async () => {
    const visit = await Visit.open(size, browser, speaks(language));
    const { page } = visit;
    const words = WORDS[language];
    await letIn(visit, words, "#/board/demo/check/left/turn");
    assert.match(await page.getByRole("img", { name: /QR/ }).getAttribute("aria-label"), /QR/);
    await page.getByText(/^([0-9A-F]{2}:){31}[0-9A-F]{2}$/).waitFor();
    await visit.look(`use-phone-code-${language}`);
    await page.getByText(/192\.168\.1\.34/).first().waitFor();
    await page.locator("article").nth(4).waitFor();
    await page.getByText(words.log).first().click();
    await visit.look(`use-phone-arrived-${language}`);
    await visit.press(words.end);
    await page.getByRole("button", { name: words.letIn }).waitFor();
    await visit.press(words.close);
    await page.getByRole("button", { name: words.use }).waitFor();
    assert.equal(await page.locator("article").count(), 5, "what came stays");
    assert.deepEqual(visit.troubles, []);
    await visit.close();
  });
}

describe("a phone that was let in", () => {
  test("stays for the marks, in sight, and is shut out when the check is left", async () => {
    const visit = await Visit.open("phone", browser);
    const { page } = visit;
    await letIn(visit, WORDS.en, "#/board/demo/check/left", "The card is on");
    await page.getByText("2 photos of it have arrived.").waitFor();
    await page.getByText("When it has taken them, the edges are marked here.").waitFor();
    await visit.press("Next");
    await page.getByText(/192\.168\.1\.34 is paired/).waitFor();
    await visit.look("use-phone-strip");
    await visit.press("Shut the phone out");
    await page.getByText(/is paired/).waitFor({ state: "detached" });
    assert.deepEqual(visit.troubles, []);
    await visit.close();
  });

  test("but is not paired yet is shut out by going on", async () => {
    const visit = await Visit.open("desk", browser);
    const { page } = visit;
    await letIn(visit, WORDS.en, "#/board/demo/check/left", "The card is on");
    await visit.press("Back");
    await visit.press("The card is on");
    await page.getByRole("button", { name: "Let a phone in" }).waitFor();
    assert.deepEqual(visit.troubles, []);
    await visit.close();
  });
});
