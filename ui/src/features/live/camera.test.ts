import { expect, test } from "vitest";
import { greyOf } from "./camera";

test("grey is the weighted mean of the colours (ITU-R BT.601: 0.299, 0.587, 0.114)", () => {
  const colours = [[0, 0, 0], [255, 255, 255], [255, 0, 0], [0, 255, 0], [0, 0, 255], [90, 90, 90]];
  const grey = greyOf(new Uint8ClampedArray(colours.flatMap((colour) => [...colour, 255])));
  const want = colours.map(([r, g, b]) => 0.299 * r! + 0.587 * g! + 0.114 * b!);
  grey.forEach((value, index) => expect(Math.abs(value - want[index]!)).toBeLessThanOrEqual(1));
  expect([grey[0], grey[1], grey[5]]).toEqual([0, 255, 90]);
});
