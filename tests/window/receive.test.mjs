// The phone's page in Chromium, over TLS, from the command `receive`: it pairs, shoots a turn by itself from a film of rendered
// photos, and the bench tells the run-out; with the camera refused, photos are chosen as files. SHIMWRIGHT names the program,
// SHIMWRIGHT_EXAMPLES the folder of the program `film`.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { existsSync } from "node:fs";
import { mkdtemp, readdir, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, describe, test } from "node:test";
import { launch, SIZES, Visit } from "./page.mjs";
import { EXAMPLES, isBusy, RENDERED, turnFilm } from "./real.mjs";
import { addBoard, PROGRAM, startReceiving } from "./receiving.mjs";

const PHOTOS = Array.from({ length: 12 }, (_, n) => join(RENDERED, `R/r1_${String(n + 1).padStart(2, "0")}.jpg`));
/** Pictures looked at in a second, in the median, that a phone must be able to count on. */
const LEAST_RATE = 4;
const DEMO = new URL("../../calibration/demo/", import.meta.url).pathname;

const there = PROGRAM && EXAMPLES && existsSync(PHOTOS[0]);
if (!there) console.log("skipped: SHIMWRIGHT, SHIMWRIGHT_EXAMPLES or the rendered pictures are not there");

describe("a phone that shoots for the bench", { skip: !there }, () => {
  let folder;

  before(async () => {
    folder = await mkdtemp(join(tmpdir(), "shimwright-phone-"));
    addBoard(folder);
  });

  after(() => rm(folder, { recursive: true, force: true }));

  const bench = (out, check) => startReceiving(folder, out, check);

  async function open(size, url, args) {
    const browser = await launch(args);
    const context = await browser.newContext({ ...SIZES[size], ignoreHTTPSErrors: true, reducedMotion: "reduce" });
    const page = await context.newPage();
    page.setDefaultTimeout(20_000);
    const visit = new Visit(size, page);
    page.on("pageerror", (error) => visit.troubles.push(String(error)));
    page.on("console", (message) => message.type() === "error" && visit.troubles.push(message.text()));
    await page.goto(url);
    return { page, visit, close: () => browser.close() };
  }

  async function measured({ page, visit }, started) {
    await visit.press(/^Measure$/);
    await page.getByRole("region", { name: "The answer" }).waitFor({ timeout: 120_000 });
    await visit.look("phone-answer");
    const { code, printed, said } = await started.ended;
    assert.equal(code, 0, said);
    const { value, u95 } = JSON.parse(printed).values.radial_runout;
    const { ecc_mm } = JSON.parse(await readFile(join(RENDERED, "truth.json"), "utf8")).cases.r1;
    console.log(`run-out ${value.toFixed(3)} ± ${u95.toFixed(3)} mm; the truth is ${(2 * ecc_mm).toFixed(3)} mm`);
    assert.ok(Math.abs(value - 2 * ecc_mm) <= u95, "the stated interval holds the truth");
    assert.deepEqual(visit.troubles, []);
  }

  test("a turn takes itself and is measured at the bench", async () => {
    const started = await bench(join(folder, "live"));
    const film = `--use-file-for-fake-video-capture=${turnFilm()}`;
    const opened = await open("phone", `${started.address}#${started.code.replace(" ", "")}`, ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream", film]);
    const { page, visit } = opened;
    try {
      await page.getByRole("heading", { name: "Run-out over a turn", level: 1 }).waitFor();
      await visit.look("phone-start");
      await visit.press("Use the camera");
      const busy = isBusy();
      const start = Date.now();
      const rates = [];
      const enough = page.getByText("That is enough.", { exact: true }).first();
      while (!(await enough.isVisible())) {
        assert.ok(Date.now() - start < 180_000, "three minutes and the turn is not covered");
        rates.push(Number(await page.locator("svg[data-rate]").getAttribute("data-rate")));
        await page.waitForTimeout(250);
      }
      const sorted = rates.filter((rate) => rate > 0).sort((a, b) => a - b);
      console.log(`the turn took itself in ${((Date.now() - start) / 1000).toFixed(0)} s, ${sorted[Math.floor(sorted.length / 2)]} looks a second in the median`);
      // Another test may have begun meanwhile.
      if (!busy && !isBusy()) assert.ok(sorted[Math.floor(sorted.length / 2)] >= LEAST_RATE, "the phone is shown outlines often enough");
      await visit.look("phone-enough", false);
      await visit.press("Done");
      await measured(opened, started);
      assert.ok((await readdir(join(folder, "live"))).length >= 8);
    } finally {
      await opened.close();
      started.stop();
    }
  });

  test("without a camera photos are chosen as files, after the code was typed", async () => {
    const started = await bench(join(folder, "files"));
    const opened = await open("large-phone-dark", started.address, ["--deny-permission-prompts"]);
    const { page, visit } = opened;
    try {
      await visit.look("phone-pair");
      await page.getByLabel("Code").fill(started.code);
      await visit.press("Pair");
      await visit.press("Use the camera");
      await page.getByText(/camera/i).filter({ hasText: /not allowed|can be used/ }).first().waitFor();
      await visit.press("Add photos instead");
      await page.locator("input[type=file]").setInputFiles([1, 3, 5, 7, 9, 11].map((n) => PHOTOS[n - 1]));
      await page.getByText("r1_11.jpg", { exact: true }).waitFor({ timeout: 60_000 });
      await visit.look("phone-photos");
      await measured(opened, started);
      const kept = await readFile(join(folder, "files", "01-r1_01.jpg"));
      assert.ok(kept.equals(await readFile(PHOTOS[0])), "the photo is what the camera wrote");
    } finally {
      await opened.close();
      started.stop();
    }
  });

  test("photos of a gap are left with a job file, which is measured once it has its marks", async () => {
    const out = join(folder, "gap");
    const started = await bench(out, "gap");
    const opened = await open("phone", started.address, []);
    const { page, visit } = opened;
    try {
      await page.getByLabel("Code").fill(started.code);
      await visit.press("Pair");
      const demo = JSON.parse(await readFile(join(DEMO, "left.json"), "utf8"));
      const names = demo.photos.map((photo) => photo.file);
      await page.locator("input[type=file]").setInputFiles(names.map((name) => join(DEMO, name)));
      await page.getByText(names.at(-1), { exact: true }).waitFor({ timeout: 60_000 });
      assert.equal((await readdir(out)).length, names.length + 1, "each photo is on the disk before the phone is done");
      await visit.press("Hand over to the bench");
      const { code, printed, said } = await started.ended;
      assert.equal(code, 0, said);
      const job = JSON.parse(await readFile(printed.trim(), "utf8"));
      for (const [n, photo] of job.photos.entries()) {
        assert.ok((await readFile(join(out, photo.file))).equals(await readFile(join(DEMO, names[n]))), "the photo is what the camera wrote");
      }
      const marked = { ...demo, ...job, camera: undefined, photos: job.photos.map((photo, n) => ({ ...photo, marks: demo.photos[n].marks ?? {} })) };
      await writeFile(join(out, "marked.json"), JSON.stringify(marked));
      const measured = JSON.parse(execFileSync(PROGRAM, ["--data-dir", folder, "measure", join(out, "marked.json"), "--json"], { encoding: "utf8" }));
      console.log(`values: ${Object.keys(measured.values).join(", ")}`);
      assert.equal(measured.check, "gap");
      assert.deepEqual(visit.troubles, []);
    } finally {
      await opened.close();
      started.stop();
    }
  });
});
