import { describe, expect, it } from "vitest";
import { gapScale } from "./scale";

describe("gapScale", () => {
  it("puts limit and value in their order", () => {
    const view = gapScale(1.42, 0.05, 0.5);
    expect(view.limit).toBeLessThan(view.low);
    expect(view.low).toBeLessThan(view.value);
    expect(view.value).toBeLessThan(view.high);
    expect(view.high).toBeLessThan(1);
  });

  it("labels a handful of round marks from zero", () => {
    const labels = gapScale(1.42, 0.05, 0.5).marks.map((mark) => mark.label);
    expect(labels[0]).toBe("0.0");
    expect(labels.length).toBeGreaterThanOrEqual(4);
    expect(labels.length).toBeLessThanOrEqual(8);
  });

  it("reaches below zero when the interval does", () => {
    const view = gapScale(0.05, 0.2, 0.5);
    expect(view.marks[0]?.label.startsWith("\u2212")).toBe(true);
    expect(view.low).toBeGreaterThanOrEqual(0);
  });

  it("keeps everything on the scale", () => {
    for (const value of [0, 0.35, 3, 25]) {
      const view = gapScale(value, 0.4, 0.5);
      for (const place of [view.limit, view.value, view.low, view.high]) {
        expect(place).toBeGreaterThanOrEqual(0);
        expect(place).toBeLessThanOrEqual(1);
      }
    }
  });
});
