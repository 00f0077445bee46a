// Checks from start to saved result with the window's real commands behind the built page, on a phone's screen by touch: a gap from a
// film as the camera, an alignment from photos of made-up pulleys, a belt tension from a recording. The turn's film is in
// `live.test.mjs`; part, play and camera go through the real window (`checks.window.mjs`). SHIMWRIGHT_EXAMPLES names the folder of
// the programs `bridge`, `film` and `pulleys`.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { readFile } from "node:fs/promises";
import { join } from "node:path";
import { after, before, describe, test } from "node:test";
import { fileURLToPath } from "node:url";
import { EXAMPLES, openReal } from "./real.mjs";

const DEMO = fileURLToPath(new URL("../../calibration/demo/", import.meta.url));
/** Width of the demo's photos, and of the camera's pictures, px. */
const PHOTO_WIDTH = 2816;
const FILM_WIDTH = 2560;
/** The state that the demo's right corner was rendered in: mount face to rim face, mm. */
const TRUE_GAP = 3;
/** Places of the mount's edge and of the rim in the demo's second photo, as a thumb would set them, px. Marked in one photo only, the
 * small pictures of a film are sometimes refused: several edges could be the rim. */
const SECOND = [[1452, 1076], [1591, 645], [1410, 1245], [1449, 1113], [1522, 909]];
/** The made-up pulleys' seed. */
const PULLEYS = 2;
/** A made-up belt: free span in mm, mass in g/m, pitch of its lowest partial in Hz. */
const BELT = { span: 200, mass: 42, pitch: 80 };

if (!EXAMPLES) console.log("skipped: SHIMWRIGHT_EXAMPLES is not set");

describe("from start to saved", { skip: !EXAMPLES }, () => {
  let real;
  let opened;
  let visit;
  let page;

  before(async () => {
    real = await openReal();
    const film = join(real.folder, "gap.y4m");
    execFileSync(join(EXAMPLES, "film"), [film, String(FILM_WIDTH), ...[1, 2, 3].map((n) => join(DEMO, `right-${n}.jpg`))]);
    opened = await real.browse("phone", ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream", `--use-file-for-fake-video-capture=${film}`]);
    ({ visit, page } = opened);
    await visit.press("Try the demo board");
    await page.getByRole("heading", { name: "Kestrel 2", level: 1 }).waitFor();
  });

  after(async () => {
    await opened?.close();
    await real?.close();
  });

  /** What the history holds of the board whose page is open, newest first. */
  const history = () =>
    page.evaluate(async () => {
      const [, , id] = location.hash.split("/");
      return (await window.__TAURI_INTERNALS__.invoke("board", { id })).history;
    });

  /** The taken photo that shows what a file of the demo shows, counted from 0: its card lies where the file's does. */
  const numberOf = (bytes) =>
    page.evaluate(
      async ([text, scale]) => {
        const { invoke } = window.__TAURI_INTERNALS__;
        const middle = ({ points }) => [0, 1].map((axis) => points.reduce((sum, point) => sum + point[axis], 0) / points.length);
        const wanted = await invoke("open_photo", Uint8Array.from(atob(text), (c) => c.charCodeAt(0)), { headers: { "x-file-name": "wanted.jpg" } });
        const [x, y] = middle(wanted.drawn[0]).map((at) => at * scale);
        await invoke("forget_photos", { ids: [wanted.id] });
        const off = [];
        for (const img of document.querySelectorAll("article img")) {
          const { found } = await invoke("look_closer", { id: img.src.split("/").at(-1) });
          const [u, v] = middle(found[0].drawn.find(({ what }) => what === "target"));
          off.push(Math.hypot(u - x, v - y));
        }
        return off.indexOf(Math.min(...off));
      },
      [bytes.toString("base64"), FILM_WIDTH / PHOTO_WIDTH],
    );

  /** Waits for an answer that can be saved; what was refused is told. */
  const answered = async () => {
    const save = page.getByRole("button", { name: "Save to the history" });
    const refusal = page.getByRole("alert");
    await save.or(refusal).first().waitFor({ timeout: 60_000 });
    if (!(await save.isVisible())) assert.fail(await refusal.first().textContent());
  };

  /** Taps places of the photo that is open, px of it. */
  const tap = async (places) => {
    await page.waitForFunction(() => document.querySelector(".stage img")?.complete);
    await page.locator(".stage").scrollIntoViewIfNeeded();
    await page.waitForTimeout(300);
    const [left, top, scale] = await page.evaluate(() => {
      const img = document.querySelector(".stage img");
      const box = img.parentElement.getBoundingClientRect();
      const [x, y, s] = img.style.transform.match(/-?[\d.]+/g).map(Number);
      return [box.left + x, box.top + y, s];
    });
    for (const [x, y] of places) await page.touchscreen.tap(left + (x + 0.5) * scale, top + (y + 0.5) * scale);
  };

  test("a gap: the camera asks for three sides and takes them, the edges are tapped, the answer is kept", async () => {
    await visit.press(/Check the gap.*right/);
    await visit.press("The card is on");
    await visit.press("Use the camera");
    const start = Date.now();
    await page.getByText("That is enough.", { exact: true }).first().waitFor({ timeout: 90_000 });
    console.log(`three sides took themselves in ${((Date.now() - start) / 1000).toFixed(0)} s`);
    await visit.press("Done");
    await page.getByText("That is enough").first().waitFor();
    assert.equal(await page.locator("article").count(), 3);
    assert.equal(await page.getByText("No mount card found in this photo").count(), 0, "every photo shows the card");
    const { marks } = JSON.parse(await readFile(join(DEMO, "right.json"), "utf8")).photos[0];
    const { mount_edge: mount, rim_edge: rim } = marks;
    const marked = { "right-1.jpg": [mount[0], mount.at(-1), rim[0], rim[1], rim.at(-1)], "right-2.jpg": SECOND };
    const numbers = [];
    for (const file of Object.keys(marked)) numbers.push(await numberOf(await readFile(join(DEMO, file))));
    await visit.press("Next");
    for (const [n, places] of Object.values(marked).entries()) {
      await page.getByRole("group", { name: "Photos" }).getByRole("button").nth(numbers[n]).click();
      await visit.press("Whole photo");
      await tap(places.map((place) => place.map((px) => ((px + 0.5) * FILM_WIDTH) / PHOTO_WIDTH - 0.5)));
    }
    await page.getByText("Both edges are marked").waitFor();
    await visit.look("film-gap-marks", false);
    await visit.press("Next");
    await page.getByLabel("Bar across").fill("150.0");
    await page.getByLabel("Bar along").fill("150.0");
    await visit.press("Measure");
    await answered();
    await visit.look("film-gap-answer");
    await page.getByLabel("Work done").fill("Left as it is.");
    await visit.press("Save to the history");
    await page.getByText("Keep this note").waitFor();
    const [kept] = await history();
    const { value, u95 } = kept.result.values.gap;
    console.log(`gap ${value.toFixed(3)} ± ${u95.toFixed(3)} mm from ${kept.photo_ids.length} pictures of a film; the truth is ${TRUE_GAP} mm`);
    assert.ok(Math.abs(value - TRUE_GAP) <= u95, "the stated interval holds the truth");
    assert.ok(u95 < 0.2, `an answer of use: ${u95}`);
    assert.equal(kept.work_done, "Left as it is.");
    assert.deepEqual(visit.troubles, []);
  });

  test("an alignment: both pulleys' edges are tapped in two of four photos, sizes typed, the answer is kept", async () => {
    await visit.press("← Kestrel 2");
    const made = JSON.parse(execFileSync(join(EXAMPLES, "pulleys"), [real.folder, String(PULLEYS)], { encoding: "utf8" }));
    await visit.press(/Belt alignment.*right/);
    await visit.press("The card is on");
    await page.locator("input[type=file]").setInputFiles(made.photos.map(({ file }) => file));
    await page.getByText("That is enough").waitFor();
    await visit.press("Next");
    for (const [n, { marks }] of made.photos.slice(0, 2).entries()) {
      await page.getByRole("group", { name: "Photos" }).getByRole("button").nth(n).click();
      await visit.press("Whole photo");
      // In the order in which they are asked for; the least that each edge wants.
      await tap(["driven_inner", "driven_outer", "motor_inner", "motor_outer"].flatMap((edge) => [0, 2, 4].map((at) => marks[edge][at])));
      await page.locator('[data-mark="motor_outer-2"]').waitFor();
    }
    await visit.look("pulleys-marks", false);
    await visit.press("Next");
    await page.getByLabel("Bar across").fill("150.0");
    await page.getByLabel("Bar along").fill("150.0");
    for (const size of ["rim_diameter", "motor_diameter", "rim_chamfer"]) await page.locator(`input[name=${size.replaceAll("_", "-")}]`).fill(made[size].toFixed(2));
    await visit.press("Measure");
    await answered();
    await visit.look("pulleys-answer");
    await visit.press("Save to the history");
    await page.getByText("Keep this note").waitFor();
    const [kept] = await history();
    assert.equal(kept.result.check, "alignment");
    for (const [name, truth] of Object.entries(made.truth)) {
      const { value, u95, unit } = kept.result.values[name];
      console.log(`${name} ${value.toFixed(3)} ± ${u95.toFixed(3)} ${unit}; the truth is ${truth.toFixed(3)} ${unit}`);
      assert.ok(Math.abs(value - truth) <= u95, `${name}: the stated interval holds the truth`);
      assert.ok(u95 < 0.5, `${name}: an answer of use: ${u95}`);
    }
    assert.deepEqual(visit.troubles, []);
  });

  test("a belt tension: three plucks in a file are heard, told and kept", async () => {
    await visit.press("← Kestrel 2");
    await visit.press(/Belt tension.*left/);
    await page.locator("input[type=file]").setInputFiles({ name: "plucks.wav", mimeType: "audio/wav", buffer: plucks(BELT.pitch) });
    await page.getByText("plucks.wav").waitFor();
    const fields = page.locator(".two input");
    for (const [n, text] of [BELT.span, 1, BELT.mass, 1].entries()) await fields.nth(n).fill(String(text));
    await visit.press("Tell the tension");
    await answered();
    await visit.look("recording-answer");
    await visit.press("Save to the history");
    await page.getByRole("heading", { name: "Kestrel 2", level: 1 }).waitFor();
    const [kept] = await history();
    const { value, u95 } = kept.result.values.tension;
    // A string's lowest partial (Mersenne): T = 4 m L^2 f^2.
    const truth = 4 * (BELT.mass / 1000) * (BELT.span / 1000) ** 2 * BELT.pitch ** 2;
    console.log(`tension ${value.toFixed(1)} ± ${u95.toFixed(1)} N; the truth is ${truth.toFixed(1)} N`);
    assert.ok(Math.abs(value - truth) <= u95, "the stated interval holds the truth");
    assert.ok(u95 < 0.15 * truth, `an answer of use: ${u95}`);
    assert.deepEqual(visit.troubles, []);
  });
});

/** Three plucks of a string of that pitch, Hz, over soft noise: partials that die away, as a WAV file of 16 bits. */
function plucks(pitch) {
  const rate = 44_100;
  const sound = new Float64Array(4 * rate);
  let seed = 1;
  for (let n = 0; n < sound.length; n += 1) {
    seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
    sound[n] = (seed / 2 ** 32 - 0.5) * 0.004;
  }
  for (const at of [0.5, 1.6, 2.7]) {
    for (let n = 0; n < 1.1 * rate; n += 1) {
      const t = n / rate;
      // Plucked at a third of its length: every third partial stays out.
      for (let k = 1; k <= 8; k += 1) {
        const loud = Math.sin((k * Math.PI) / 3) / k ** 1.5;
        sound[Math.round(at * rate) + n] += 0.25 * loud * Math.exp(-t * (4 + k)) * Math.sin(2 * Math.PI * k * pitch * t);
      }
    }
  }
  const wav = Buffer.alloc(44 + 2 * sound.length);
  wav.write("RIFF", 0);
  wav.writeUInt32LE(36 + 2 * sound.length, 4);
  wav.write("WAVEfmt ", 8);
  // PCM, one channel.
  for (const [offset, value] of [[16, 16], [24, rate], [28, 2 * rate], [40, 2 * sound.length]]) wav.writeUInt32LE(value, offset);
  for (const [offset, value] of [[20, 1], [22, 1], [32, 2], [34, 16]]) wav.writeUInt16LE(value, offset);
  wav.write("data", 36);
  for (let n = 0; n < sound.length; n += 1) wav.writeInt16LE(Math.round(32_767 * Math.max(-1, Math.min(1, sound[n]))), 44 + 2 * n);
  return wav;
}
