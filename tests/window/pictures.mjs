// Pictures of the main screens, kept in `pictures/` as they were when somebody last looked at them: a screen that looks otherwise
// is told, and where to see how. `PICTURES=renew npm run test:phone` in ui/ takes them anew; then look at each that changed.
import { mkdir, readFile, rm, writeFile } from "node:fs/promises";
import { fileURLToPath } from "node:url";
import { crc32, deflateSync } from "node:zlib";

/** Screens by the names that the tests give them, and the sizes at which they are kept. */
export const KEPT = {
  welcome: ["phone"],
  "board-empty": ["desk"],
  "check-ready": ["phone"],
  "check-photos": ["phone"],
  "check-edges": ["phone", "desk"],
  "check-sizes": ["phone"],
  "check-answer": ["phone", "desk-dark"],
  board: ["phone", "desk-dark"],
  "tension-answer": ["phone"],
  boards: ["desk"],
  rings: ["phone"],
  print: ["phone"],
  about: ["phone", "desk-dark"],
  "turn-answer": ["phone", "large-phone-dark"],
  "alignment-marks": ["phone"],
  "part-answer": ["phone"],
};

/** A colour that is off by less in every channel, of 255, is the same. */
const FAINT = 32;
/** Side of the blocks that a picture is judged by, px, so that a small change does not drown in a large screen. */
const BLOCK = 24;
/** So many pixels of a block may differ. Letters that are hinted and set otherwise differ by 41 at most, and a unit that moves to the
 * next line by more. */
const MOST = 60;
/** Signs that the page's own font has: others are drawn in a font of the machine, and stand as `~` in the pictures. */
const OWN_SIGNS = "[^\\u0000-\\u00ff\\u2000-\\u206f\\u20ac\\u2122\\u2191\\u2193\\u2212]";

/** So many colours are kept as they are, the most frequent ones; others move to the nearest of a cube of 6 x 6 x 6. That makes files
 * small, and a colour moves by less than what is faint. */
const EXACT = 40;

const RENEW = process.env.PICTURES === "renew";
const file = (name) => fileURLToPath(new URL(`pictures/${name}.png`, import.meta.url));
const OUT = fileURLToPath(new URL("../../ui/node_modules/.pictures/", import.meta.url));

/** How the screen that is open differs from the picture kept under this name; nothing when it does not. */
export async function differs(page, name, fullPage) {
  const now = await picture(page, fullPage);
  const judge = await page.context().newPage();
  try {
    if (RENEW) {
      await writeFile(file(name), png(await judge.evaluate(reduce, { text: now.toString("base64"), EXACT })));
      return null;
    }
    const kept = await readFile(file(name)).catch(() => null);
    if (!kept) return `no picture is kept of ${name}: take it by PICTURES=renew`;
    const paths = { now: `${OUT}${name}.now.png`, differs: `${OUT}${name}.differs.png` };
    await Promise.all(Object.values(paths).map((path) => rm(path, { force: true })));
    const { sizes, worst, shown } = await judge.evaluate(compare, { pictures: [kept, now].map((bytes) => bytes.toString("base64")), FAINT, BLOCK });
    if (sizes === null && worst.count <= MOST) return null;
    await mkdir(OUT, { recursive: true });
    await writeFile(paths.now, now);
    if (shown) await writeFile(paths.differs, Buffer.from(shown, "base64"));
    const how = sizes ?? `${worst.count} of ${BLOCK * BLOCK} pixels around (${worst.x}, ${worst.y}), of ${MOST} at most`;
    return `${name} looks otherwise than in tests/window/pictures: ${how}; see ${shown ? paths.differs : paths.now}`;
  } finally {
    await judge.close();
  }
}

/**
 * Takes the pointer, or what the browser takes a finger for, away from where it rested after the step before: that is drawn
 * darker. The browser may settle on it only a frame later, so it is done again until nothing rests anywhere twice in a row.
 * A screen on which something stays darker all the same is told by its picture.
 */
async function leave(page) {
  const rests = () => new Promise((drawn) => requestAnimationFrame(() => requestAnimationFrame(() => drawn(!!document.querySelector(":is(a, button, input, label, select):hover")))));
  for (let tries = 0, free = 0; tries < 20 && free < 2; tries += 1) {
    // A pointer that is sent to where it was last is taken not to have moved.
    await page.mouse.move(3, 3);
    await page.mouse.move(1, 1);
    free = (await page.evaluate(rests)) ? 0 : free + 1;
  }
}

/** What the screen shows, once its letters and photos are there, in the page's own font alone. */
async function picture(page, fullPage) {
  await leave(page);
  await page.evaluate(async (foreign) => {
    // What sticks to the screen's end stands where the screen ends.
    window.scrollTo(0, 0);
    await document.fonts.ready;
    await Promise.all([...document.images].filter((img) => img.checkVisibility()).map((img) => img.decode().catch(() => {})));
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    window.replaced = [];
    while (walker.nextNode()) {
      const { data } = walker.currentNode;
      const own = data.replaceAll(new RegExp(foreign, "g"), "~");
      if (own === data) continue;
      window.replaced.push([walker.currentNode, data]);
      walker.currentNode.data = own;
    }
  }, OWN_SIGNS);
  const taken = await page.screenshot({ fullPage, scale: "css", animations: "disabled" });
  await page.evaluate(() => window.replaced.forEach(([node, data]) => (node.data = data)));
  return taken;
}

/** A picture of up to 256 colours as PNG (ISO/IEC 15948): its palette, and an index a pixel, in base64. */
function png({ width, height, palette, indices }) {
  const chunk = (kind, data) => {
    const body = Buffer.concat([Buffer.from(kind, "latin1"), data]);
    const around = Buffer.alloc(8);
    around.writeUInt32BE(data.length, 0);
    around.writeUInt32BE(crc32(body), 4);
    return Buffer.concat([around.subarray(0, 4), body, around.subarray(4)]);
  };
  const head = Buffer.alloc(13);
  head.writeUInt32BE(width, 0);
  head.writeUInt32BE(height, 4);
  // 8 bits a pixel, by a palette.
  head.set([8, 3, 0, 0, 0], 8);
  const pixels = Buffer.from(indices, "base64");
  // Each row begins with its filter: none.
  const rows = Buffer.alloc(height * (width + 1));
  for (let y = 0; y < height; y += 1) pixels.copy(rows, y * (width + 1) + 1, y * width, (y + 1) * width);
  const sign = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);
  const data = deflateSync(rows, { level: 9 });
  return Buffer.concat([sign, chunk("IHDR", head), chunk("PLTE", Buffer.from(palette)), chunk("IDAT", data), chunk("IEND", Buffer.alloc(0))]);
}

/** In a browser: a picture in few colours. */
async function reduce({ text, EXACT }) {
  const bitmap = await createImageBitmap(new Blob([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))]));
  const { width, height } = bitmap;
  const into = new OffscreenCanvas(width, height).getContext("2d");
  into.drawImage(bitmap, 0, 0);
  const { data } = into.getImageData(0, 0, width, height);
  const colours = Uint32Array.from({ length: width * height }, (_, n) => (data[4 * n] << 16) | (data[4 * n + 1] << 8) | data[4 * n + 2]);
  const often = new Map();
  for (const colour of colours) often.set(colour, (often.get(colour) ?? 0) + 1);
  const exact = [...often].sort(([a, n], [b, m]) => m - n || a - b).slice(0, EXACT).map(([colour]) => colour);
  const cube = Array.from({ length: 216 }, (_, n) => [Math.floor(n / 36), Math.floor(n / 6) % 6, n % 6].map((level) => 51 * level));
  const level = (colour, shift) => Math.round(((colour >> shift) & 255) / 51);
  const places = new Map(exact.map((colour, n) => [colour, n]));
  const place = (colour) => places.get(colour) ?? exact.length + 36 * level(colour, 16) + 6 * level(colour, 8) + level(colour, 0);
  const indices = Array.from(colours, (colour) => String.fromCharCode(place(colour)));
  const palette = [...exact.flatMap((colour) => [colour >> 16, (colour >> 8) & 255, colour & 255]), ...cube.flat()];
  return { width, height, palette, indices: btoa(indices.join("")) };
}

/** In a browser: how two pictures differ. A pixel differs when the other picture has no such colour there or right beside it. */
async function compare({ pictures, FAINT, BLOCK }) {
  const [kept, now] = await Promise.all(
    pictures.map(async (text) => {
      const bitmap = await createImageBitmap(new Blob([Uint8Array.from(atob(text), (c) => c.charCodeAt(0))]));
      const into = new OffscreenCanvas(bitmap.width, bitmap.height).getContext("2d");
      into.drawImage(bitmap, 0, 0);
      return into.getImageData(0, 0, bitmap.width, bitmap.height);
    }),
  );
  const { width, height } = kept;
  if (width !== now.width || height !== now.height) {
    return { sizes: `it is ${now.width} x ${now.height} px large and was ${width} x ${height}`, worst: null, shown: null };
  }
  const alike = (a, at, b, to) => [0, 1, 2].every((channel) => Math.abs(a.data[at + channel] - b.data[to + channel]) < FAINT);
  const isBeside = (a, b, x, y) => {
    for (let v = Math.max(0, y - 1); v <= Math.min(height - 1, y + 1); v += 1) {
      for (let u = Math.max(0, x - 1); u <= Math.min(width - 1, x + 1); u += 1) {
        if (alike(a, 4 * (y * width + x), b, 4 * (v * width + u))) return true;
      }
    }
    return false;
  };
  const columns = Math.ceil(width / BLOCK);
  const counts = new Uint32Array(columns * Math.ceil(height / BLOCK));
  const shown = new ImageData(width, height);
  for (let y = 0; y < height; y += 1) {
    for (let x = 0; x < width; x += 1) {
      const at = 4 * (y * width + x);
      const differs = !alike(kept, at, now, at) && !(isBeside(kept, now, x, y) && isBeside(now, kept, x, y));
      if (differs) counts[Math.floor(y / BLOCK) * columns + Math.floor(x / BLOCK)] += 1;
      // What is as it was stands pale behind what differs.
      for (let channel = 0; channel < 3; channel += 1) shown.data[at + channel] = differs ? [230, 0, 90][channel] : 170 + now.data[at + channel] / 3;
      shown.data[at + 3] = 255;
    }
  }
  const count = Math.max(...counts);
  const block = counts.indexOf(count);
  const worst = { count, x: (block % columns) * BLOCK + BLOCK / 2, y: Math.floor(block / columns) * BLOCK + BLOCK / 2 };
  const into = new OffscreenCanvas(width, height);
  into.getContext("2d").putImageData(shown, 0, 0);
  const bytes = new Uint8Array(await (await into.convertToBlob()).arrayBuffer());
  return { sizes: null, worst, shown: btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join("")) };
}
