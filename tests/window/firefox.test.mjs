// The phone's page in Firefox, over TLS, from the command `receive`. Firefox plays no film for a camera, so the page is given a
// stream of rendered photos where it asks for one; and photos are chosen as files where that is refused. SHIMWRIGHT names the
// program, FIREFOX the browser.
import assert from "node:assert/strict";
import { existsSync } from "node:fs";
import { mkdir, mkdtemp, readFile, rm, writeFile } from "node:fs/promises";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, describe, test } from "node:test";
import { openFirefox } from "./firefox.mjs";
import { RENDERED, TURNING } from "./real.mjs";
import { addBoard, PROGRAM, startReceiving } from "./receiving.mjs";

const { FIREFOX, SHOTS } = process.env;
const PHOTOS = Array.from({ length: 12 }, (_, n) => join(RENDERED, `R/r1_${String(n + 1).padStart(2, "0")}.jpg`));
const WIDTH = 1440;
/** Each photo is held so long before the camera, ms. */
const HELD_MS = 1200;

const there = FIREFOX && PROGRAM && existsSync(PHOTOS[0]);
if (!there) console.log("skipped: FIREFOX, SHIMWRIGHT or the rendered pictures are not there");

/** One more photo for the made-up camera. */
const MORE = `
  const [base64, width] = arguments;
  return createImageBitmap(new Blob([Uint8Array.from(atob(base64), (sign) => sign.charCodeAt(0))], { type: "image/jpeg" }), { resizeWidth: width, resizeQuality: "high" })
    .then((picture) => (window.pictures ??= []).push(picture));`;
/** Puts the made-up camera in the place of the browser's. */
const CAMERA = `
  const [held] = arguments;
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [window.pictures[0].width, window.pictures[0].height];
  const onto = canvas.getContext("2d");
  const begun = performance.now();
  setInterval(() => onto.drawImage(window.pictures[Math.floor((performance.now() - begun) / held) % window.pictures.length], 0, 0), 40);
  onto.drawImage(window.pictures[0], 0, 0);
  navigator.mediaDevices.getUserMedia = () => Promise.resolve(canvas.captureStream(25));`;
const REFUSED = `navigator.mediaDevices.getUserMedia = () => Promise.reject(new DOMException("no", "NotAllowedError"))`;

describe("a phone's Firefox that shoots for the bench", { skip: !there }, () => {
  let folder;
  let firefox;
  let shots = 0;

  before(async () => {
    folder = await mkdtemp(join(tmpdir(), "shimwright-firefox-phone-"));
    addBoard(folder);
    firefox = await openFirefox(FIREFOX);
    await firefox.ask("WebDriver:SetWindowRect", { width: 412, height: 915 });
  });

  after(async () => {
    await firefox?.close();
    await rm(folder, { recursive: true, force: true });
  });

  async function look(where) {
    if (!SHOTS) return;
    await mkdir(SHOTS, { recursive: true });
    await writeFile(join(SHOTS, `firefox-${(shots += 1)}-${where}.png`), await firefox.picture());
  }

  async function measured(started) {
    await firefox.press("^Measure$");
    await firefox.shown("[aria-label='The answer']", ".", 120_000);
    await look("answer");
    const { code, printed, said } = await started.ended;
    assert.equal(code, 0, said);
    const { value, u95 } = JSON.parse(printed).values.radial_runout;
    const { ecc_mm } = JSON.parse(await readFile(join(RENDERED, "truth.json"), "utf8")).cases.r1;
    console.log(`run-out ${value.toFixed(3)} ± ${u95.toFixed(3)} mm; the truth is ${(2 * ecc_mm).toFixed(3)} mm`);
    assert.ok(Math.abs(value - 2 * ecc_mm) <= u95, "the stated interval holds the truth");
  }

  test("a turn takes itself and is measured at the bench", async () => {
    const started = await startReceiving(folder, join(folder, "live"));
    try {
      await firefox.go(`${started.address}#${started.code.replace(" ", "")}`);
      await firefox.shown("h1", "Run-out over a turn");
      for (const photo of TURNING) await firefox.run(MORE, (await readFile(photo)).toString("base64"), WIDTH);
      await firefox.run(CAMERA, HELD_MS);
      await firefox.press("Use the camera");
      await firefox.shown("dialog path.good, dialog path.bad, dialog path.calm", "");
      const start = Date.now();
      await firefox.shown("dialog [role=status]", "That is enough", 180_000);
      const rate = await firefox.run("return Number(document.querySelector('svg[data-rate]').dataset.rate)");
      console.log(`the turn took itself in ${((Date.now() - start) / 1000).toFixed(0)} s, ${rate.toFixed(1)} looks a second at its end`);
      await look("enough");
      await firefox.press("Done");
      await measured(started);
    } finally {
      started.stop();
    }
  });

  test("where the stream is refused photos are chosen as files, after the code was typed", async () => {
    const started = await startReceiving(folder, join(folder, "files"));
    try {
      await firefox.go(started.address);
      await firefox.type("input[autocomplete='one-time-code']", started.code);
      await look("pair");
      await firefox.press("^Pair$");
      await firefox.shown("h1", "Run-out over a turn");
      await firefox.run(REFUSED);
      await firefox.press("Use the camera");
      await firefox.shown("dialog", "The camera is not allowed");
      await firefox.press("Add photos instead");
      await firefox.type("input[type=file]", [1, 3, 5, 7, 9, 11].map((n) => PHOTOS[n - 1]).join("\n"));
      await firefox.shown("li", "r1_11.jpg", 60_000);
      await measured(started);
      assert.ok((await readFile(join(folder, "files", "01-r1_01.jpg"))).equals(await readFile(PHOTOS[0])), "the photo is what the camera wrote");
    } finally {
      started.stop();
    }
  });
});
