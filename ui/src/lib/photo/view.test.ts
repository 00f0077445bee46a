import { describe, expect, it } from "vitest";
import { fit, frame, insidePhoto, MOST_SCALE, pan, reveal, settle, toPhoto, toStage, zoomAt, type Place } from "./view";

const photo = { width: 2816, height: 2112 };
const stage = { width: 360, height: 400 };

function close(a: Place, b: Place): void {
  expect(a[0]).toBeCloseTo(b[0], 6);
  expect(a[1]).toBeCloseTo(b[1], 6);
}

describe("fit", () => {
  it("shows the whole photo, with half a pixel around the outer pixel centres", () => {
    const view = fit(photo, stage);
    close(toStage(view, [-0.5, -0.5]), [0, (400 - 2112 * view.scale) / 2]);
    close(toStage(view, [2815.5, 2111.5]), [360, (400 + 2112 * view.scale) / 2]);
  });
});

describe("toPhoto", () => {
  it("is the inverse of toStage", () => {
    const view = { scale: 0.37, x: -40.5, y: 12 };
    close(toPhoto(view, toStage(view, [812.25, 1020.75])), [812.25, 1020.75]);
  });
});

describe("zoomAt", () => {
  it("keeps the place under the finger", () => {
    const view = zoomAt(fit(photo, stage), 4, [180, 200], photo, stage);
    const before = toPhoto(view, [150, 210]);
    const after = zoomAt(view, 1.5, [150, 210], photo, stage);
    close(toPhoto(after, [150, 210]), before);
  });

  it("stops at both ends", () => {
    const view = fit(photo, stage);
    expect(zoomAt(view, 1e6, [10, 10], photo, stage).scale).toBe(MOST_SCALE);
    expect(zoomAt(view, 1e-6, [10, 10], photo, stage)).toEqual(view);
  });
});

describe("pan", () => {
  it("never pulls the photo off the stage", () => {
    const near = zoomAt(fit(photo, stage), 8, [180, 200], photo, stage);
    const far = pan(near, [1e5, -1e5], photo, stage);
    expect(toStage(far, [-0.5, 0])[0]).toBeCloseTo(0, 6);
    expect(toStage(far, [0, 2111.5])[1]).toBeCloseTo(400, 6);
  });

  it("leaves a fitted photo in the middle", () => {
    const view = fit(photo, stage);
    expect(settle(pan(view, [30, 30], photo, stage), photo, stage)).toEqual(view);
  });
});

describe("reveal", () => {
  it("moves only when it must", () => {
    const near = zoomAt(fit(photo, stage), 8, [0, 0], photo, stage);
    const seen = toPhoto(near, [180, 200]);
    expect(reveal(near, seen, photo, stage)).toBe(near);
    const moved = reveal(near, [2000, 1500], photo, stage);
    const [x, y] = toStage(moved, [2000, 1500]);
    expect(x).toBeLessThanOrEqual(360 - 47);
    expect(y).toBeLessThanOrEqual(400 - 47);
  });
});

describe("insidePhoto", () => {
  it("keeps marks on pixels that exist", () => {
    expect(insidePhoto(photo, [-4, 5000])).toEqual([0, 2111]);
  });
});

describe("frame", () => {
  it("shows the places with room around them", () => {
    const view = frame([[1000, 800], [1400, 1100]], 0.5, photo, stage);
    close(toStage(view, [1200, 950]), [180, 200]);
    expect(toStage(view, [800, 950])[0]).toBeCloseTo(0, 6);
  });

  it("shows the whole photo when there is nothing to frame, and never more than it", () => {
    expect(frame([], 0.5, photo, stage)).toEqual(fit(photo, stage));
    expect(frame([[0, 0], [2815, 2111]], 0.5, photo, stage)).toEqual(fit(photo, stage));
  });
});
