import { describe, expect, it } from "vitest";
import { Bench, PIECE, type Send, type Sending } from "./bench";

const sum = async (bytes: Uint8Array<ArrayBuffer>): Promise<string> =>
  Array.from(new Uint8Array(await crypto.subtle.digest("SHA-256", bytes)), (byte) => byte.toString(16).padStart(2, "0")).join("");
const answer = (value: unknown, status = 200): Response => new Response(JSON.stringify(value), { status });
const atOnce = async (): Promise<void> => {};

/** A bench that keeps photos; a request or its answer is lost where `lost` says so. */
function keeping(lost: () => "request" | "answer" | null) {
  const kept: Uint8Array<ArrayBuffer>[] = [];
  const place = { sha256: "", whole: new Uint8Array(0), have: 0, done: false };
  const said = () => (place.done ? { is: "kept", said: { kept: true } } : { is: "coming", have: place.have });
  const handle = async (path: string, request: RequestInit): Promise<Response> => {
    if (path === "/api/photos") {
      const told = JSON.parse(String(request.body)) as { sha256: string; bytes: number };
      if (told.sha256 !== place.sha256) Object.assign(place, { sha256: told.sha256, whole: new Uint8Array(told.bytes), have: 0, done: false });
      return answer(said());
    }
    const at = Number(new URL(path, "https://bench").searchParams.get("at"));
    if (place.done || at !== place.have) return answer(said(), 409);
    const piece = request.body as Uint8Array;
    place.whole.set(piece, place.have);
    place.have += piece.length;
    if (place.have === place.whole.length) {
      expect(await sum(place.whole)).toBe(place.sha256);
      kept.push(place.whole);
      place.done = true;
    }
    return answer(said());
  };
  const send: Send = async (path, request) => {
    const gone = lost();
    if (gone === "request") throw new TypeError("network");
    const response = await handle(path, request);
    if (gone === "answer") throw new TypeError("network");
    return response;
  };
  return { kept, send };
}

const photoOf = (bytes: Uint8Array<ArrayBuffer>) => ({ name: "a.jpg", arrayBuffer: async () => bytes.buffer });

describe("a photo sent to the bench", () => {
  const bytes = Uint8Array.from({ length: 3 * PIECE + 17 }, (_, at) => (at * 31) % 251);

  it("arrives whole once, whatever is lost on the way", async () => {
    for (let seed = 1; seed <= 60; seed += 1) {
      let state = seed;
      const { kept, send } = keeping(() => {
        state = (state * 48271) % 2147483647;
        return ([null, null, null, "request", null, null, null, "answer"] as const)[(state >> 8) % 8]!;
      });
      const told: (Sending | null)[] = [];
      const bench = new Bench("token", send, atOnce);
      bench.onSending = (sending) => told.push(sending);
      expect(await bench.keep(photoOf(bytes), false)).toBe(true);
      expect(await Promise.all(kept.map(sum))).toEqual([await sum(bytes)]);
      expect(told.at(-1)).toBeNull();
    }
  });

  it("waits for the one before it", async () => {
    const { kept, send } = keeping(() => null);
    const bench = new Bench("token", send, atOnce);
    const other = bytes.map((byte) => 255 - byte);
    expect(await Promise.all([bench.keep(photoOf(bytes), false), bench.keep(photoOf(other), false)])).toEqual([true, true]);
    expect(await Promise.all(kept.map(sum))).toEqual([await sum(bytes), await sum(other)]);
  });

  it("tells how far it is and that the connection is lost", async () => {
    let asked = 0;
    const { send } = keeping(() => ((asked += 1) === 3 ? "request" : null));
    const told: (Sending | null)[] = [];
    const bench = new Bench("token", send, atOnce);
    bench.onSending = (sending) => told.push(sending);
    await bench.keep(photoOf(bytes), false);
    expect(told.map((sending) => sending && [sending.sent / PIECE, sending.lost])).toEqual([
      [0, false], [1, false], [1, true], [1, false], [1.5, false], [2.5, false], null,
    ]);
  });

  it("goes in smaller pieces over a connection that carries no large ones", async () => {
    const carried: number[] = [];
    const { kept, send } = keeping(() => null);
    const bench = new Bench("token", async (path, request) => {
      const length = request.body instanceof Uint8Array ? request.body.length : 0;
      if (length > 100_000) throw new TypeError("network");
      if (length > 0) carried.push(length);
      return send(path, request);
    }, atOnce);
    expect(await bench.keep(photoOf(bytes), false)).toBe(true);
    expect(await Promise.all(kept.map(sum))).toEqual([await sum(bytes)]);
    expect(carried.length).toBeGreaterThan(8);
  });

  it("is given up in words when the bench is gone", async () => {
    const bench = new Bench("token", () => Promise.reject(new TypeError("network")), atOnce);
    await expect(bench.keep(photoOf(bytes), true)).rejects.toMatchObject({ message: "the bench does not answer" });
  });

  it("is refused in the bench's words, with what it takes to say them in another language", async () => {
    const message = { text: "the code is wrong; tries left: 4", code: "the code is wrong; tries left: {left}", values: { left: { is: "number", value: 4 } } };
    const failure = { code: "bad-input", message, hint: { text: "send it again", code: "send it again" } };
    const bench = new Bench("token", async () => answer({ is: "refused", failure }), atOnce);
    await expect(bench.keep(photoOf(bytes), false)).rejects.toEqual(failure);
  });
});

describe("a picture to be looked at", () => {
  it("goes as grey bytes with the token", async () => {
    const asked: [string, RequestInit][] = [];
    const bench = new Bench("abc", async (path, request) => (asked.push([path, request]), answer({ judged: {} })), atOnce);
    await bench.look({ width: 2, height: 1, photoWidth: 4, grey: new Uint8Array([1, 2]) });
    const [path, request] = asked[0]!;
    expect(path).toBe("/api/look?width=2&height=1&photo_width=4");
    expect(request.headers).toEqual({ authorization: "Bearer abc", "content-type": "application/octet-stream" });
    expect(request.body).toEqual(new Uint8Array([1, 2]));
  });

  it("waits when another is looked at", async () => {
    let asked = 0;
    const bench = new Bench("abc", async () => ((asked += 1) < 3 ? answer({}, 429) : answer({ judged: {} })), atOnce);
    await bench.look({ width: 1, height: 1, photoWidth: 1, grey: new Uint8Array([1]) });
    expect(asked).toBe(3);
  });
});

describe("a bench that does not answer", () => {
  const gone: Send = () => Promise.reject(new TypeError("network"));

  it("is told in words when it is asked where the check stands", async () => {
    await expect(new Bench("token", gone, atOnce).standing()).rejects.toMatchObject({ message: "the bench does not answer" });
    await expect(new Bench("token", gone, atOnce).measure()).rejects.toMatchObject({ message: "the bench does not answer" });
  });

  it("states no certificate", async () => {
    expect(await Bench.fingerprint(gone)).toBe("");
    expect(await Bench.fingerprint(async () => answer({ fingerprint: "AA:BB" }))).toBe("AA:BB");
  });
});

describe("pairing", () => {
  it("is asked for anew when the bench takes the token no more", async () => {
    expect(await Bench.takes("abc", async () => answer({}, 401))).toBe(false);
    expect(await Bench.takes("abc", async () => answer({}))).toBe(true);
    expect(await Bench.takes("abc", () => Promise.reject(new TypeError("network")))).toBe(true);
  });

  it("gives the token, or the bench's refusal", async () => {
    expect(await Bench.pair("12345678", async () => answer({ token: "abc" }))).toBe("abc");
    const failure = { code: "bad-input", message: "the code is wrong; tries left: 4", hint: "type the digits" };
    await expect(Bench.pair("1", async () => answer(failure, 403))).rejects.toEqual(failure);
  });
});
