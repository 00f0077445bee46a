import { describe, expect, it } from "vitest";
import { drawnAngle, radialScale, SCALE_END, screwAngles } from "./polar";

describe("the polar plot", () => {
  it("reaches beyond every value", () => {
    const scale = radialScale([0.18, 0.05, Number.NaN]);
    expect(scale.domain[1]).toBeGreaterThanOrEqual(0.18);
    expect(scale(scale.domain[1]!)).toBe(SCALE_END);
    expect(scale(0)).toBe(0);
    expect(radialScale([]).domain[1]).toBeGreaterThan(0);
  });

  it("draws screw 1 at the top, and the ring as printed without it", () => {
    expect(drawnAngle(154, { count: 5, first: 154 })).toBe(0);
    // Counter-clockwise on the ring is counter-clockwise on the plot: a quarter of a turn left of the top.
    expect(drawnAngle(244, { count: 5, first: 154 })).toBeCloseTo(-Math.PI / 2);
    expect(drawnAngle(90, null)).toBe(0);
    expect(drawnAngle(0, null)).toBeCloseTo(Math.PI / 2);
  });

  it("numbers the screws clockwise", () => {
    const angles = screwAngles({ count: 4, first: 10 }).map((screw) => [screw.name, Math.round((screw.angle * 180) / Math.PI)]);
    expect(angles).toEqual([[1, 0], [2, 90], [3, 180], [4, 270]]);
  });
});
