import { describe, expect, it } from "vitest";
import { StageView } from "./stage.svelte";
import { toPhoto } from "./view";

function opened(): StageView {
  const stage = new StageView();
  stage.resize({ width: 2816, height: 2112 }, { width: 360, height: 400 });
  return stage;
}

describe("StageView", () => {
  it("starts with the whole photo and stays so when the stage changes", () => {
    const stage = opened();
    expect(stage.closeness).toBeCloseTo(1);
    stage.resize({ width: 2816, height: 2112 }, { width: 800, height: 600 });
    expect(stage.closeness).toBeCloseTo(1);
  });

  it("keeps the middle in place when a close view's stage changes", () => {
    const stage = opened();
    stage.zoom(6, [100, 190]);
    const middle = toPhoto(stage.view, [180, 200]);
    stage.resize({ width: 2816, height: 2112 }, { width: 300, height: 500 });
    const after = toPhoto(stage.view, [150, 250]);
    expect(after[0]).toBeCloseTo(middle[0], 3);
    expect(after[1]).toBeCloseTo(middle[1], 3);
  });

  it("pans with one finger and pinches with two", () => {
    const stage = opened();
    stage.down(1, [150, 200]);
    stage.down(2, [210, 200]);
    stage.move(2, [330, 200]);
    expect(stage.closeness).toBeCloseTo(3, 1);
    stage.up(2);
    const before = stage.view;
    stage.move(1, [140, 200]);
    expect(stage.view.x).toBeCloseTo(before.x - 10);
    expect(stage.view.scale).toBe(before.scale);
  });

  it("does not move for a finger that never went down", () => {
    const stage = opened();
    const before = stage.view;
    stage.move(7, [10, 10]);
    expect(stage.view).toBe(before);
  });
});
