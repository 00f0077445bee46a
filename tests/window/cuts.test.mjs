// A phone whose connection is cut at random moments while it sends: every photo arrives whole and once, and the page says what
// is going on. A proxy on loopback holds the knife; Chromium takes it for the bench. SHIMWRIGHT names the program; 100 cuts
// with SHIMWRIGHT_FULL=1, some twenty without.
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { existsSync, readdirSync } from "node:fs";
import { mkdtemp, readdir, readFile, rm } from "node:fs/promises";
import { connect, createServer } from "node:net";
import { tmpdir } from "node:os";
import { basename, join } from "node:path";
import { after, before, describe, test } from "node:test";
import { launch, SIZES, Visit } from "./page.mjs";
import { RENDERED } from "./real.mjs";
import { addBoard, PROGRAM, startReceiving } from "./receiving.mjs";

const FULL = process.env.SHIMWRIGHT_FULL === "1";
const [PHOTOS, CUTS] = FULL ? [24, 100] : [10, 20];
/** Bytes from the phone after which a connection is cut at the latest: a piece and its half. */
const MOST_CARRIED = 400_000;

const FOLDER = join(RENDERED, "R");
const there = PROGRAM && existsSync(FOLDER);
if (!there) console.log("skipped: SHIMWRIGHT or the rendered pictures are not there");

/** Numbers that look random and are the same each time (Lehmer's generator, Park and Miller 1988). */
function dice(seed) {
  let state = seed;
  return (most) => (state = (state * 48271) % 2147483647) % most;
}

/** Carries connections on and, once armed, cuts each after a number of bytes, until there were enough cuts. */
async function knife(port, below) {
  const held = { armed: false, cuts: 0 };
  const server = createServer((near) => {
    const far = connect(port, "127.0.0.1");
    let budget = null;
    const end = () => (near.destroy(), far.destroy());
    near.on("error", end).on("close", end);
    far.on("error", end).on("close", end);
    far.on("data", (bytes) => near.write(bytes));
    near.on("data", (bytes) => {
      if (!held.armed || held.cuts >= CUTS) return far.write(bytes);
      budget ??= 1 + below(MOST_CARRIED);
      far.write(bytes.subarray(0, budget));
      budget -= bytes.length;
      if (budget > 0) return;
      held.cuts += 1;
      end();
    });
  });
  await new Promise((resolve) => server.listen(0, "127.0.0.1", resolve));
  return { held, port: server.address().port, close: () => server.close() };
}

describe("a connection that is cut again and again", { skip: !there }, () => {
  let folder;

  before(async () => {
    folder = await mkdtemp(join(tmpdir(), "shimwright-cuts-"));
    addBoard(folder);
  });

  after(() => rm(folder, { recursive: true, force: true }));

  test("loses no photo and doubles none, and the page says so", async () => {
    const out = join(folder, "out");
    const started = await startReceiving(folder, out);
    const { port } = new URL(started.address);
    const proxy = await knife(Number(port), dice(20_260_308));
    const browser = await launch([`--host-resolver-rules=MAP 127.0.0.1:${port} 127.0.0.1:${proxy.port}`]);
    try {
      const page = await (await browser.newContext({ ...SIZES.phone, ignoreHTTPSErrors: true })).newPage();
      const visit = new Visit("phone", page);
      await page.goto(`${started.address}#${started.code.replace(" ", "")}`);
      await page.getByRole("heading", { level: 1, name: "Run-out over a turn" }).waitFor();
      await page.evaluate(() => {
        window.lost = 0;
        const seen = () => (window.lost += /The connection is lost/.test(document.body.textContent) ? 1 : 0);
        new MutationObserver(seen).observe(document.body, { subtree: true, childList: true, characterData: true });
      });
      proxy.held.armed = true;
      const photos = readdirSync(FOLDER).filter((name) => /^r\d.*\.jpg$/.test(name)).slice(0, PHOTOS).map((name) => join(FOLDER, name));
      await page.locator("input[type=file]").setInputFiles(photos);
      for (const photo of photos) {
        const name = basename(photo);
        const settled = page.getByText(name, { exact: true }).and(page.locator("strong, .quiet")).first();
        await settled.waitFor({ timeout: 300_000 });
      }
      await page.locator("progress").waitFor({ state: "detached", timeout: 60_000 });
      if (!FULL) await visit.look("phone-after-cuts");
      const shown = await page.locator("li strong").allInnerTexts();
      const lost = await page.evaluate(() => window.lost);
      const sum = async (file) => createHash("sha256").update(await readFile(file)).digest("hex");
      const sent = await Promise.all(photos.map(sum));
      const arrived = await Promise.all((await readdir(out)).map((name) => sum(join(out, name))));
      console.log(`${proxy.held.cuts} cuts; ${arrived.length} of ${sent.length} photos arrived; the page said ${lost} times that the connection is lost`);
      assert.equal(new Set(arrived).size, arrived.length, "none arrived twice");
      assert.ok(arrived.every((one) => sent.includes(one)), "each arrived whole");
      assert.deepEqual(shown.sort(), photos.map((photo) => basename(photo)).filter((_, n) => arrived.includes(sent[n])).sort(), "the page lists what arrived");
      // One that was cut too often is given up, and the page says that too.
      const given = await page.getByText("The bench does not answer.").count();
      assert.equal(arrived.length + given, sent.length, `${given} were given up`);
      assert.ok(given <= sent.length / 10, `${given} were given up`);
      assert.ok(proxy.held.cuts >= CUTS / 2, `${proxy.held.cuts} cuts`);
      assert.ok(lost > 0, "the page said that the connection was lost");
    } finally {
      await browser.close();
      proxy.close();
      started.stop();
      await started.ended;
    }
  });
});
