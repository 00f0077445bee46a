// What somebody on the same network may try against the app while it lets a phone in: the real commands in a process of their
// own, visitors over TLS from many addresses of loopback. Nobody gets in, the app answers meanwhile, and its memory stays small.
import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { existsSync } from "node:fs";
import { mkdtemp, readFile, rm } from "node:fs/promises";
import { request } from "node:https";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { after, before, describe, test } from "node:test";
import { connect } from "node:tls";
import { EXAMPLES, isBusy, startBridge } from "./real.mjs";

const VISITORS = 500;
/** Most memory that the app may ever have taken, MB. */
const MOST_MB = 300;
/** Longest answer of the app, and of the server to its phone, while it is attacked, ms. */
const LONGEST_ANSWER = 1000;
const PIECE = 1 << 20;

const there = EXAMPLES && existsSync(join(EXAMPLES, "bridge"));
if (!there) console.log("skipped: SHIMWRIGHT_EXAMPLES is not set");

/**
 * A JPEG of one grey (ITU-T T.81), so many pixels a side: a few bytes that want a lot of memory. Each table has one code, `0`,
 * for "the same again" and "nothing more", so the picture is a row of zeros.
 */
function bomb(side, { progressive = false, told = side } = {}) {
  const part = (marker, ...bytes) => [0xff, marker, (bytes.length + 2) >> 8, (bytes.length + 2) & 255, ...bytes];
  const one = [1, ...Array(15).fill(0), 0];
  const blocks = Math.ceil(side / 8) ** 2;
  // A progressive file may stop after its first scan, which has the steady part of each block alone.
  const scan = Buffer.alloc(Math.ceil((blocks * (progressive ? 1 : 2)) / 8) + 1);
  const head = [
    0xff, 0xd8,
    ...part(0xdb, 0, ...Array(64).fill(1)),
    ...part(progressive ? 0xc2 : 0xc0, 8, told >> 8, told & 255, told >> 8, told & 255, 1, 1, 0x11, 0),
    ...part(0xc4, 0x00, ...one),
    ...part(0xc4, 0x10, ...one),
    ...part(0xda, 1, 1, 0, 0, progressive ? 0 : 63, 0),
  ];
  return Buffer.concat([Buffer.from(head), scan, Buffer.from([0xff, 0xd9])]);
}

describe("a server for a phone under attack", { skip: !there }, () => {
  let folder;
  let app;
  let door;

  before(async () => {
    folder = await mkdtemp(join(tmpdir(), "shimwright-attacks-"));
    app = await startBridge(join(folder, "history"));
    await app.ask("load_demo");
  });

  after(async () => {
    await app?.close();
    await rm(folder, { recursive: true, force: true });
  });

  /** Lets a phone in at loopback, where visitors can come from many addresses. */
  async function open() {
    const { address, code } = await app.ask("phone_start", { check: "turn", address: "127.0.0.1" });
    door = { origin: address.replace(/\/$/, ""), port: Number(new URL(address).port), code };
  }

  /** Asks over TLS; the status and what was said, or the trouble. */
  function ask(method, path, { body = "", headers = {}, token = "", from = "127.0.0.1" } = {}) {
    return new Promise((resolve) => {
      const asked = request({
        host: "127.0.0.1", port: door.port, localAddress: from, method, path, agent: false, rejectUnauthorized: false,
        headers: { host: `127.0.0.1:${door.port}`, origin: door.origin, "content-type": "application/json", authorization: `Bearer ${token}`, "content-length": Buffer.byteLength(body), ...headers },
      });
      asked.setTimeout(20_000, () => asked.destroy(new Error("no answer")));
      asked.on("error", (error) => resolve({ status: 0, said: String(error) }));
      asked.on("response", (answer) => {
        const parts = [];
        answer.on("data", (part) => parts.push(part));
        answer.on("end", () => resolve({ status: answer.statusCode, said: Buffer.concat(parts).toString() }));
        answer.on("error", (error) => resolve({ status: 0, said: String(error) }));
      });
      asked.end(body);
    });
  }

  const pair = (code, from) => ask("POST", "/api/pair", { body: JSON.stringify({ code }), from });
  const paired = async () => JSON.parse((await pair(door.code)).said).token;

  async function send(token, name, bytes) {
    const sha256 = createHash("sha256").update(bytes).digest("hex");
    let place = await ask("POST", "/api/photos", { token, body: JSON.stringify({ sha256, bytes: bytes.length, name, by_itself: false }) });
    for (let at = 0; at < bytes.length && JSON.parse(place.said).is === "coming"; at += PIECE) {
      place = await ask("PUT", `/api/photos/${sha256}?at=${at}`, { token, body: bytes.subarray(at, at + PIECE), headers: { "content-type": "application/octet-stream" } });
    }
    return { status: place.status, ...JSON.parse(place.said) };
  }

  async function memory() {
    const [, kb] = /VmHWM:\s+(\d+) kB/.exec(await readFile(`/proc/${app.pid}/status`, "utf8"));
    return Math.round(Number(kb) / 1024);
  }

  test("guessing from many addresses closes it, and the right code is refused then", async () => {
    await open();
    const wrong = `${(Number(door.code[0]) + 1) % 10}${door.code.slice(1)}`;
    const answers = await Promise.all(Array.from({ length: 20 }, (_, n) => pair(wrong, `127.0.0.${2 + n}`)));
    assert.ok(answers.filter(({ status }) => status === 403).length <= 5, "five tries over all addresses");
    assert.ok(!answers.some(({ status }) => status === 200));
    assert.notEqual((await pair(door.code)).status, 200);
    const seen = await app.ask("phone_standing", { photos: [] });
    assert.equal(seen.open, false);
    assert.equal(seen.log.at(-1).what, "wrong-codes");
  });

  test("nothing gets in beside the phone, and the phone reaches nothing but its check", async () => {
    await open();
    const { code } = door;
    const token = await paired();
    assert.equal((await pair(code, "127.0.0.9")).status, 410, "a code that was used");
    for (const path of ["/../../etc/passwd", "/%2e%2e/%2e%2e/etc/passwd", "/assets/../../phone-certificate.json", "/api/boards", "/api/photos/../standing", "/phone-log.jsonl"]) {
      const { status, said } = await ask("GET", path, { token });
      assert.ok(status >= 400 && status < 500 && !/root:|private|certificate"/.test(said), `${path}: ${status} ${said}`);
    }
    for (const name of ["../../a.jpg", "..\\a.jpg", "/etc/cron.d/a", ".ssh", "a\u0000b.jpg"]) {
      assert.equal((await ask("POST", "/api/photos", { token, body: JSON.stringify({ sha256: "0".repeat(64), bytes: 1, name, by_itself: false }) })).status, 422, name);
    }
    for (const host of ["attacker.example", `attacker.example:${door.port}`, `localhost:${door.port}`]) {
      assert.equal((await ask("GET", "/api/standing", { token, headers: { host } })).status, 421, host);
    }
    for (const headers of [{ origin: "https://attacker.example" }, { origin: "null" }, { "sec-fetch-site": "cross-site" }]) {
      assert.equal((await ask("POST", "/api/measure", { token, headers })).status, 403, JSON.stringify(headers));
    }
    for (const [path, headers] of [["/api/photos", { "content-length": 5_000_000_000 }], [`/api/photos/${"0".repeat(64)}?at=0`, { "content-length": 2_000_000, "content-type": "application/octet-stream" }]]) {
      const method = path === "/api/photos" ? "POST" : "PUT";
      assert.equal((await ask(method, path, { token, headers })).status, 413, path);
    }
    const refused = await send(token, "bomb.jpg", bomb(320, { told: 60_000 }));
    assert.equal(refused.is, "refused");
    assert.match(refused.failure.message.text, /60000 x 60000/);
    const other = await send(token, "a.jpg", Buffer.from("\x89PNG\r\n\x1a\n", "latin1"));
    assert.match(other.failure.message.text, /no JPEG/);
    assert.match((await ask("GET", "/api/standing", { token })).said, /"photos":\[\]/);
    console.log(`the app took ${await memory()} MB at most`);
  });

  test(`${VISITORS} visitors over TLS, slow ones and picture bombs among them, keep neither phone nor app waiting`, async () => {
    await open();
    const token = await paired();
    const busy = isBusy();
    let secured = 0;
    const visitors = Array.from({ length: VISITORS }, (_, n) => {
      const visitor = connect({ host: "127.0.0.1", port: door.port, localAddress: `127.0.0.${2 + (n % 250)}`, rejectUnauthorized: false });
      visitor.on("error", () => {});
      visitor.once("secureConnect", () => {
        secured += 1;
        // A third begins a head and never ends it, a third a body, a third says nothing at all.
        if (n % 3 === 0) visitor.write("GET / HTTP/1.1\r\nhost: ");
        if (n % 3 === 1) visitor.write(`POST /api/pair HTTP/1.1\r\nhost: 127.0.0.1:${door.port}\r\norigin: ${door.origin}\r\ncontent-type: application/json\r\ncontent-length: 4000\r\n\r\n{`);
      });
      return visitor;
    });
    const times = { app: [], phone: [] };
    const said = [];
    const bombs = (async () => {
      for (const [side, progressive] of [[2000, false], [7700, false], [7600, true]]) {
        const { is, failure } = await send(token, `${side}.jpg`, bomb(side, { progressive }));
        said.push(`${side} px${progressive ? " progressive" : ""} ${is}${failure ? `: ${failure.message.text}` : ""}`);
      }
    })();
    for (let n = 0; n < 25; n += 1) {
      const start = performance.now();
      await app.ask("boards", { find: "", most: 60 });
      const between = performance.now();
      assert.equal((await ask("GET", "/api/standing", { token })).status, 200);
      times.app.push(between - start);
      times.phone.push(performance.now() - between);
      await new Promise((resolve) => setTimeout(resolve, 60));
    }
    await bombs;
    for (const visitor of visitors) visitor.destroy();
    const longest = (list) => Math.round(Math.max(...list));
    const took = await memory();
    console.log(`bombs: ${said.join("; ")}`);
    assert.equal(said.length, 3);
    console.log(`${secured} of ${VISITORS} got as far as TLS; slowest answers: app ${longest(times.app)} ms, phone ${longest(times.phone)} ms; the app took ${took} MB at most`);
    assert.ok(took < MOST_MB, `${took} MB`);
    if (!busy) for (const [who, list] of Object.entries(times)) assert.ok(longest(list) < LONGEST_ANSWER, `${who}: ${longest(list)} ms`);
  });
});
