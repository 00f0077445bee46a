import { describe, expect, it } from "vitest";
import { joined, peakOf, wavOf } from "./wav";

describe("a recording as a WAV file", () => {
  // The format's definition: RIFF, a `fmt ` part of 16 bytes, then `data`; all numbers little-endian.
  it("has a head that tells its length and rate", () => {
    const view = new DataView(wavOf(new Float32Array(100), 48_000));
    const text = (at: number): string => String.fromCharCode(...[0, 1, 2, 3].map((k) => view.getUint8(at + k)));
    expect([text(0), text(8), text(12), text(36)]).toEqual(["RIFF", "WAVE", "fmt ", "data"]);
    expect(view.byteLength).toBe(244);
    expect(view.getUint32(4, true)).toBe(236);
    expect(view.getUint32(24, true)).toBe(48_000);
    expect(view.getUint32(28, true)).toBe(96_000);
    expect(view.getUint32(40, true)).toBe(200);
  });

  it("holds samples at full scale and none beyond", () => {
    const view = new DataView(wavOf(new Float32Array([0, 0.5, 1, -1, 2, -2]), 8_000));
    expect([0, 1, 2, 3, 4, 5].map((k) => view.getInt16(44 + 2 * k, true))).toEqual([0, 16384, 32767, -32767, 32767, -32767]);
  });

  it("is made of pieces in their order", () => {
    const all = joined([new Float32Array([1, 2]), new Float32Array([]), new Float32Array([3])]);
    expect([...all]).toEqual([1, 2, 3]);
    expect(peakOf(new Float32Array([0.25, -0.5]))).toBe(0.5);
  });
});
