// How quick the built page is with the real commands behind it: until it can be used, from a photo to its first outline, and while
// a photo of 12 megapixels is marked.
import assert from "node:assert/strict";
import { existsSync } from "node:fs";
import { readFile } from "node:fs/promises";
import { after, before, describe, test } from "node:test";
import { EXAMPLES, isBusy, openReal } from "./real.mjs";

const PHOTO = new URL("../../calibration/demo/left-1.jpg", import.meta.url);
/** 12 megapixels. */
const [WIDTH, HEIGHT] = [4032, 3024];
/** Limits, ms. */
const USABLE = 1500;
const OUTLINE = 400;
const NEXT_PAINT = 100;
/** Photos added one after the other; the middle one of their times counts. */
const TRIES = 5;

const there = EXAMPLES && existsSync(PHOTO);
if (!there) console.log("skipped: SHIMWRIGHT_EXAMPLES is not set");

describe("how quick it is", { skip: !there }, () => {
  let real;
  let opened;
  let page;

  const held = (what, value, limit) => {
    console.log(`${what}: ${value.toFixed(0)} ms, of ${limit} at most`);
    assert.ok(value < limit || isBusy(), `${what} took ${value.toFixed(0)} ms`);
  };

  before(async () => {
    real = await openReal();
    opened = await real.browse("phone", []);
    page = opened.page;
  });

  after(async () => {
    await opened?.close();
    await real?.close();
  });

  test("the page can be used at once", async () => {
    await page.getByRole("heading", { level: 1 }).waitFor();
    await page.reload();
    await page.getByRole("heading", { level: 1 }).waitFor();
    // The heading comes with the list of boards; from the moment the address was called.
    const usable = await page.evaluate(() => performance.now());
    held("until the page can be used", usable, USABLE);
  });

  test("a photo of 12 megapixels has its outline at once, and is marked without a stutter", async () => {
    const { visit } = opened;
    await visit.press("Try the demo board");
    await page.getByRole("heading", { name: "Kestrel 2", level: 1 }).waitFor();
    await visit.press(/Check the gap.*left/);
    await visit.press("The card is on");
    const large = Buffer.from(await enlarged(page, await readFile(PHOTO)), "base64");
    console.log(`the photo has ${(large.length / 1e6).toFixed(1)} MB`);
    const times = [];
    for (let n = 0; n < TRIES; n += 1) times.push(await untilOutlined(page, `large-${n}.jpg`, distinct(large, n)));
    times.sort((a, b) => a.outline - b.outline);
    const told = times.map(({ outline, corners }) => `${outline.toFixed(0)} (corners ${corners.toFixed(0)})`).join(", ");
    console.log(`from a photo to its outline, ms: ${told}`);
    held(`from a photo to its outline, middle of ${TRIES}`, times[Math.floor(TRIES / 2)].outline, OUTLINE);
    for (let n = 1; n < TRIES; n += 1) await visit.press(`Remove large-${n}.jpg`);

    await visit.press("Next");
    await page.locator(".stage img").waitFor();
    await page.waitForFunction(() => document.querySelector(".stage img").complete);
    await page.waitForTimeout(500);
    await page.evaluate(() => {
      window.paints = [];
      const seen = (list) => window.paints.push(...list.getEntries().filter((entry) => entry.interactionId > 0).map((entry) => entry.duration));
      new PerformanceObserver(seen).observe({ type: "event", durationThreshold: 16 });
    });
    const box = await page.locator(".stage").boundingBox();
    const at = (x, y) => [box.x + x * box.width, box.y + y * box.height];
    for (const [x, y] of [[0.3, 0.4], [0.7, 0.42], [0.3, 0.6], [0.5, 0.58], [0.7, 0.62]]) await page.touchscreen.tap(...at(x, y));
    await page.locator("[data-mark]").nth(4).waitFor();
    for (let n = 0; n < 10; n += 1) await page.keyboard.press("Control+z");
    for (let n = 0; n < 10; n += 1) await page.keyboard.press("Control+Shift+z");
    await page.waitForTimeout(300);
    const paints = (await page.evaluate(() => window.paints)).sort((a, b) => a - b);
    assert.ok(paints.length > 0, "interactions were timed");
    // As the web's measure of it does with few interactions: the slowest counts.
    held(`the slowest of ${paints.length} interactions until its paint`, paints.at(-1), NEXT_PAINT);
  });
});

/** A JPEG that shows the same and is another file: nothing that was kept of the last one helps. */
const distinct = (jpeg, n) => Buffer.concat([jpeg.subarray(0, 2), Buffer.from([0xff, 0xfe, 0, 3, n]), jpeg.subarray(2)]);

/** Hands in a photo; ms until its outline is painted, and until its corners are. */
async function untilOutlined(page, name, buffer) {
  await page.evaluate((title) => {
    const times = (window.times = {});
    const input = document.querySelector("input[type=file]");
    input.addEventListener("change", () => (times.handedIn = performance.now()), { capture: true, once: true });
    const note = (what) => requestAnimationFrame(() => (times[what] ??= performance.now()));
    const watch = new MutationObserver(() => {
      const card = [...document.querySelectorAll("article")].find((one) => one.querySelector("h2").textContent === title);
      if (card?.querySelector("path.target")) note("outlined");
      if (card?.querySelector("path.corner")) note("fitted");
      if (times.fitted !== undefined) watch.disconnect();
    });
    watch.observe(document.body, { childList: true, subtree: true, attributes: true });
  }, name);
  await page.locator("input[type=file]").setInputFiles({ name, mimeType: "image/jpeg", buffer });
  await page.waitForFunction(() => window.times.fitted !== undefined);
  return page.evaluate(() => ({ outline: window.times.outlined - window.times.handedIn, corners: window.times.fitted - window.times.handedIn }));
}

/** The photo drawn larger by the browser, as a JPEG in base64. Drawn larger it is smoother than what a camera writes, and quicker
 * to read: noise of up to 6 grey levels either way makes it as large as a camera's, some megabytes. */
const enlarged = (page, bytes) =>
  page.evaluate(
    async ([text, width, height]) => {
      const picture = await createImageBitmap(new Blob([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))]));
      const canvas = Object.assign(document.createElement("canvas"), { width, height });
      const into = canvas.getContext("2d");
      into.drawImage(picture, 0, 0, width, height);
      const pixels = into.getImageData(0, 0, width, height);
      for (let at = 0, seed = 1; at < pixels.data.length; at += 4) {
        seed = (Math.imul(seed, 1664525) + 1013904223) >>> 0;
        const noise = (seed >>> 24) / 21.25 - 6;
        for (let channel = at; channel < at + 3; channel += 1) pixels.data[channel] += noise;
      }
      into.putImageData(pixels, 0, 0);
      const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", 0.9));
      const url = await new Promise((resolve) => {
        const reader = new FileReader();
        reader.onload = () => resolve(reader.result);
        reader.readAsDataURL(blob);
      });
      return url.slice(url.indexOf(",") + 1);
    },
    [bytes.toString("base64"), WIDTH, HEIGHT],
  );
