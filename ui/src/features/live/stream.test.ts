import { expect, test } from "vitest";
import { MAKE, named, streamName } from "./stream";

test("a stream is told by device, zoom and turn, so that another setting is another camera", () => {
  const settings = { deviceId: "3f9a12cd77e0b1", zoom: 1, resizeMode: "none" };
  expect(streamName("camera2 0, facing back", settings, 90)).toBe("camera2 0, facing back (3f9a12cd, zoom=1, turned=90)");
  const names = [
    streamName("camera2 0, facing back", settings, 0),
    streamName("camera2 0, facing back", { ...settings, zoom: 2 }, 0),
    streamName("camera2 0, facing back", { ...settings, deviceId: "00aa12cd77e0b1" }, 0),
    streamName("camera2 0, facing back", { ...settings, resizeMode: "crop-and-scale" }, 0),
    streamName("camera2 0, facing back", settings, 90),
  ];
  expect(new Set(names).size).toBe(names.length);
});

test("a device that cannot be told from others has no name", () => {
  expect(streamName("Camera", {}, 0)).toBeNull();
  expect(streamName("Camera", { deviceId: "" }, 0)).toBeNull();
});

test("a long label leaves room for what follows it: names are read to 80 characters", () => {
  const name = streamName("a".repeat(200), { deviceId: "3f9a12cd77e0b1", zoom: 1.25, resizeMode: "crop-and-scale" }, 270)!;
  expect(name.length).toBeLessThanOrEqual(80);
  expect(name.endsWith(" (3f9a12cd, zoom=1.25, turned=270, crop-and-scale)")).toBe(true);
});

test("the name stands in EXIF behind the first marker, and the rest of the file is as it was", () => {
  const jpeg = Uint8Array.from([0xff, 0xd8, 0xff, 0xe0, 0, 2, 0xff, 0xd9]);
  const out = named(jpeg, "Kamera über (1a)");
  expect([...out.slice(0, 4)]).toEqual([0xff, 0xd8, 0xff, 0xe1]);
  const length = (out[4]! << 8) | out[5]!;
  expect([...out.slice(4 + length)]).toEqual([...jpeg.slice(2)]);
  const text = String.fromCharCode(...out.slice(6, 4 + length));
  expect(text.startsWith("Exif\0\0II*\0")).toBe(true);
  // Each text where its entry says that it is, counted from the byte order's mark.
  const tiff = text.slice(6);
  const at = (entry: number): string => {
    const byte = (n: number): number => tiff.charCodeAt(10 + 12 * entry + n);
    const count = byte(4) | (byte(5) << 8);
    const offset = byte(8) | (byte(9) << 8);
    return tiff.slice(offset, offset + count);
  };
  expect(at(0)).toBe(`${MAKE}\0`);
  expect(at(1)).toBe("Kamera _ber (1a)\0");
});
