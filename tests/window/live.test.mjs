// Live capture in Chromium with a made-up camera, a film of rendered photos, and the window's real commands behind the built
// page: a turn check from start to saved result, and the same camera refused. SHIMWRIGHT_EXAMPLES names the folder of the
// programs `bridge` and `film`.
import assert from "node:assert/strict";
import { existsSync } from "node:fs";
import { mkdir, readFile, writeFile } from "node:fs/promises";
import { join } from "node:path";
import { after, before, describe, test } from "node:test";
import { EXAMPLES, isBusy, openReal, RENDERED, TURN_WIDTH, turnFilm, TURNING } from "./real.mjs";

/** Pictures looked at in a second that must be kept up. */
const LEAST_RATE = 5;

const there = EXAMPLES && existsSync(TURNING[0]);
if (!there) console.log(`skipped: ${EXAMPLES ? "the rendered pictures are not at ../shared/data/rendered" : "SHIMWRIGHT_EXAMPLES is not set"}`);

describe("live capture", { skip: !there }, () => {
  let real;

  before(async () => {
    real = await openReal();
  });

  after(() => real?.close());

  /** A browser with the film as its camera, or with a camera that it is not allowed to use. */
  const openWith = (allowed, size) =>
    real.browse(
      size,
      allowed
        ? ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream", `--use-file-for-fake-video-capture=${turnFilm()}`]
        : ["--deny-permission-prompts"],
    );

  /** Keeps a profile of the rendered camera in the size of the film beside the history, with what is otherwise about it. */
  const writeProfile = async (file, otherwise) => {
    const { camera } = JSON.parse(await readFile(join(RENDERED, "truth.json"), "utf8"));
    const scale = TURN_WIDTH / camera.width;
    const centre = (at) => (at + 0.5) * scale - 0.5;
    const profile = { width: TURN_WIDTH, height: camera.height * scale, fx: camera.fx * scale, fy: camera.fy * scale, cx: centre(camera.cx), cy: centre(camera.cy) };
    const folder = join(real.folder, "history", "cameras");
    await mkdir(folder, { recursive: true });
    await writeFile(join(folder, file), JSON.stringify({ ...profile, dist_k1_k2_p1_p2_k3: camera.dist_k1_k2_p1_p2_k3, ...otherwise }));
  };

  const toThePhotos = async ({ visit, page }) => {
    await page.getByRole("heading", { level: 1 }).first().waitFor();
    await visit.press(/Try the demo board|Kestrel 2/);
    await page.getByRole("heading", { name: "Kestrel 2", level: 1 }).waitFor();
    await visit.press(/Run-out.*left/);
    await visit.press("Card and ring are on");
    await visit.press("Use the camera");
  };

  test("a turn takes itself, is measured and saved", async () => {
    const opened = await openWith(true, "phone");
    const { visit, page } = opened;
    try {
      await toThePhotos(opened);
      const start = Date.now();
      await page.getByRole("img", { name: /of 8 parts of the turn have a photo/ }).waitFor();
      await visit.look("live-first", false);
      await page.getByText("Hold still").or(page.getByText("Turn the wheel on")).first().waitFor();
      const rates = [];
      const enough = page.getByText("That is enough.", { exact: true }).first();
      while (!(await enough.isVisible())) {
        assert.ok(Date.now() - start < 120_000, "two minutes and the turn is not covered");
        rates.push(Number(await page.locator("svg[data-rate]").getAttribute("data-rate")));
        await page.waitForTimeout(250);
      }
      const seconds = (Date.now() - start) / 1000;
      const sorted = rates.filter((rate) => rate > 0).sort((a, b) => a - b);
      const median = sorted[Math.floor(sorted.length / 2)];
      console.log(`the turn took itself in ${seconds.toFixed(0)} s, ${median.toFixed(1)} pictures a second were looked at in the median`);
      assert.ok(median >= LEAST_RATE || isBusy(), `${median} pictures a second`);
      await page.getByRole("dialog").getByRole("img", { name: "8 of 8 parts of the turn have a photo" }).waitFor();
      await visit.look("live-enough", false);
      await visit.press("Done");
      await page.getByText("That is enough. More photos").waitFor();
      assert.equal(await page.getByText("No hub ring found in this photo").count(), 0, "every photo shows card and ring");
      await visit.look("live-photos");
      // The stream has a name, by which a kept profile finds it.
      const model = (await page.locator("article .words p").last().textContent()).match(/^live (.* \([0-9a-z]{8}.*\)),/)?.[1];
      console.log(`the stream is named ${model}`);
      assert.ok(model, "photos bear the name of their stream");
      await writeProfile("of-the-stream.json", { make: "live", model });
      await writeProfile("of-another.json", { make: "live", model: model.replace(/\(.{8}/, "(00000000"), fx: 900, fy: 900 });
      await visit.press("Next");
      await visit.press("Next");
      await page.getByLabel("Bar across").fill("150.0");
      await page.getByLabel("Bar along").fill("150.0");
      await visit.press("Measure");
      await page.getByRole("button", { name: "Save to the history" }).waitFor({ timeout: 120_000 });
      await visit.look("live-answer");
      await visit.press("Save to the history");
      await page.getByRole("heading", { name: "Run-out, left corner" }).waitFor();
      const kept = await page.evaluate(async () => {
        // The address of the entry names its board.
        const [, , id] = location.hash.split("/");
        return (await window.__TAURI_INTERNALS__.invoke("board", { id })).history[0];
      });
      const said = kept.result.warnings.map((warning) => warning.text ?? warning).join(" ");
      assert.match(said, /the kept camera profile of-the-stream\.json was used/);
      assert.doesNotMatch(said, /does not fit these photos/);
      const { value, u95 } = kept.result.values.radial_runout;
      const { ecc_mm } = JSON.parse(await readFile(join(RENDERED, "truth.json"), "utf8")).cases.r1;
      console.log(`run-out ${value.toFixed(3)} ± ${u95.toFixed(3)} mm from ${kept.photo_ids.length} photos; the truth is ${(2 * ecc_mm).toFixed(3)} mm`);
      assert.ok(Math.abs(value - 2 * ecc_mm) <= u95, "the stated interval holds the truth");
      assert.ok(u95 < 0.1, `an answer of use: ${u95}`);
    } finally {
      await opened.close();
    }
  });

  test("a camera that is refused leaves the way by files open", async () => {
    const opened = await openWith(false, "large-phone-dark");
    const { visit, page } = opened;
    try {
      await toThePhotos(opened);
      await page.getByText(/camera/i).filter({ hasText: /not allowed|can be used/ }).first().waitFor();
      await visit.look("live-refused", false);
      await visit.press("Add photos instead");
      await page.locator("input[type=file]").setInputFiles(TURNING.slice(0, 1));
      await page.getByText("r1_01.jpg").waitFor();
    } finally {
      await opened.close();
    }
  });
});
