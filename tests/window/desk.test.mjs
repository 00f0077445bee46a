// Two browsers: the window's page with the real commands, and a phone's with a film for a camera, over TLS. The phone is let in,
// shoots a turn by itself, and both show the run-out; photos of a gap come to the bench to be marked there.
import assert from "node:assert/strict";
import { existsSync } from "node:fs";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { after, before, describe, test } from "node:test";
import { launch, SIZES, Visit } from "./page.mjs";
import { EXAMPLES, openReal, RENDERED, turnFilm, TURNING } from "./real.mjs";

const GAP = ["left-1.jpg", "left-2.jpg"].map((name) => new URL(`../../calibration/demo/${name}`, import.meta.url).pathname);
/** A name that a page would take for its own, if it took names for more than words. */
const NASTY = '<img src=x onerror="document.title=1">.jpg';

const there = EXAMPLES && existsSync(TURNING[0]);
if (!there) console.log("skipped: SHIMWRIGHT_EXAMPLES or the rendered pictures are not there");

describe("a phone at the window's check", { skip: !there }, () => {
  let real;
  let bench;

  before(async () => {
    real = await openReal();
    bench = await real.browse("desk", []);
    await bench.visit.press("Try the demo board");
    await bench.page.getByRole("heading", { name: "Kestrel 2", level: 1 }).waitFor();
  });

  after(async () => {
    await bench?.close();
    await real?.close();
  });

  async function letIn(hash, begin) {
    const { visit, page } = bench;
    await page.evaluate((to) => (location.hash = to), hash);
    await visit.press(begin);
    await visit.press("Use a phone");
    await visit.press("Let a phone in");
    const [address, code] = [page.locator("dd.path"), page.locator("dd.code")];
    await code.waitFor();
    return { address: await address.innerText(), code: (await code.innerText()).replace(" ", "") };
  }

  async function phone(url, args) {
    const browser = await launch(args);
    const context = await browser.newContext({ ...SIZES.phone, ignoreHTTPSErrors: true, reducedMotion: "reduce" });
    const page = await context.newPage();
    page.setDefaultTimeout(20_000);
    const visit = new Visit("phone", page);
    page.on("pageerror", (error) => visit.troubles.push(String(error)));
    await page.goto(url);
    return { page, visit, close: () => browser.close() };
  }

  const board = async () => (await readFile(join(RENDERED, "truth.json"), "utf8").then(JSON.parse)).cases.r1;

  test("a turn takes itself, is measured at the bench, and both show the run-out", async () => {
    const id = await bench.page.evaluate(() => location.hash);
    const { address, code } = await letIn(`${id}/check/left/turn`, "Card and ring are on");
    await bench.visit.look("bench-code");
    const opened = await phone(`${address}#${code}`, ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream", `--use-file-for-fake-video-capture=${turnFilm()}`]);
    try {
      await opened.page.getByRole("heading", { name: "Run-out over a turn", level: 1 }).waitFor();
      await bench.page.getByText(/is paired/).first().waitFor();
      await opened.visit.press("Use the camera");
      const rates = [];
      const start = Date.now();
      while (!(await opened.page.getByText("That is enough.", { exact: true }).first().isVisible())) {
        assert.ok(Date.now() - start < 180_000, "three minutes and the turn is not covered");
        rates.push(Number(await opened.page.locator("svg[data-rate]").getAttribute("data-rate")));
        await opened.page.waitForTimeout(250);
      }
      const sorted = rates.filter((rate) => rate > 0).sort((a, b) => a - b);
      console.log(`the turn took itself in ${((Date.now() - start) / 1000).toFixed(0)} s, ${sorted[Math.floor(sorted.length / 2)]} looks a second in the median`);
      await opened.visit.press("Done");
      await bench.visit.look("bench-arrived");
      await opened.visit.press(/^Measure$/);
      for (const { page } of [bench, opened]) await page.getByRole("region", { name: "The answer" }).waitFor({ timeout: 120_000 });
      await bench.visit.look("bench-answer");
      await opened.visit.look("phone-told");
      const [here, on] = await Promise.all([bench, opened].map(({ page }) => page.getByRole("region", { name: "The answer" }).innerText()));
      const numbers = (text) => text.match(/\d+\.\d+ ±\s\d+\.\d+/)?.[0];
      assert.equal(numbers(here), numbers(on), "bench and phone show the same");
      const [value, u95] = numbers(here).split(/ ±\s/).map(Number);
      const { ecc_mm } = await board();
      console.log(`run-out ${value} ± ${u95} mm; the truth is ${(2 * ecc_mm).toFixed(3)} mm`);
      assert.ok(Math.abs(value - 2 * ecc_mm) <= u95, "the stated interval holds the truth");
      await bench.visit.press("Save to the history");
      await bench.page.getByRole("heading", { level: 1 }).first().waitFor();
      await opened.page.getByText("The bench does not answer.").waitFor();
      assert.deepEqual(opened.visit.troubles, []);
    } finally {
      await opened.close();
    }
  });

  test("photos of a gap come to the bench, and the marks are made there", async () => {
    const [, id] = /#\/board\/([^/]+)/.exec(await bench.page.evaluate(() => location.hash));
    const { address, code } = await letIn(`#/board/${id}/check/left`, "The card is on");
    const opened = await phone(address, ["--deny-permission-prompts"]);
    try {
      await opened.page.getByText(/^([0-9A-F]{2}:){31}[0-9A-F]{2}$/).waitFor();
      const stated = await opened.page.locator(".fingerprint").innerText();
      assert.equal(stated, await bench.page.locator(".fingerprint").innerText(), "both sides show one fingerprint");
      await opened.page.getByLabel("Code").fill(code);
      await opened.visit.press("Pair");
      await opened.page.getByRole("heading", { name: "Gap", exact: false, level: 1 }).waitFor();
      const [first, second] = await Promise.all(GAP.map((file) => readFile(file)));
      await opened.page.locator("input[type=file]").setInputFiles([
        { name: NASTY, mimeType: "image/jpeg", buffer: first },
        { name: "second.jpg", mimeType: "image/jpeg", buffer: second },
      ]);
      await bench.page.getByText("2 photos of it have arrived.").waitFor({ timeout: 60_000 });
      for (const { page } of [bench, opened]) {
        await page.getByText(NASTY).first().waitFor();
        assert.equal(await page.locator('img[src="x"]').count(), 0, "a name is words");
        assert.notEqual(await page.title(), "1");
      }
      await opened.visit.look("phone-gap");
      // The bytes are what the camera wrote, its EXIF with them.
      const kept = await bench.page.evaluate(async () => {
        const [id] = [...document.querySelectorAll("article img")].map((img) => img.src.split("/").at(-1));
        const bytes = await (await fetch("http://ipc.localhost/photo_bytes", { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify({ id }) })).arrayBuffer();
        return Array.from(new Uint8Array(bytes));
      });
      assert.ok(first.equals(Buffer.from(kept)), "the photo is what the camera wrote");
      await opened.visit.press("Hand over to the bench");
      await opened.page.getByText(/^Handed over\./).waitFor();
      await bench.page.locator('[aria-current="step"]', { hasText: "Edges" }).waitFor();
      await bench.visit.look("bench-marks");
      await bench.visit.press("Shut the phone out");
      await opened.page.getByText("The bench does not answer.").waitFor();
      assert.deepEqual(opened.visit.troubles, []);
    } finally {
      await opened.close();
    }
    const log = await readFile(join(real.folder, "history", "phone-log.jsonl"), "utf8");
    const whats = log.trim().split("\n").map((line) => JSON.parse(line).what);
    assert.deepEqual(whats.filter((what) => what === "started" || what === "ended"), ["started", "ended", "started", "ended"]);
    assert.deepEqual(bench.visit.troubles, []);
  });
});
