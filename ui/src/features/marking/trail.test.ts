import { describe, expect, it } from "vitest";
import { withMark, withMoved } from "./marks";
import { MarkTrail } from "./trail.svelte";

describe("MarkTrail", () => {
  it("goes back and forth", () => {
    const trail = new MarkTrail();
    trail.put(withMark(trail.now, "mount_edge", [1, 1]));
    trail.put(withMark(trail.now, "mount_edge", [2, 2]));
    trail.undo();
    expect(trail.now.mount_edge).toEqual([[1, 1]]);
    trail.redo();
    expect(trail.now.mount_edge).toHaveLength(2);
    expect(trail.canRedo).toBe(false);
  });

  it("counts a whole drag as one step", () => {
    const trail = new MarkTrail();
    trail.put(withMark(trail.now, "mount_edge", [1, 1]));
    trail.keep();
    for (let x = 2; x < 50; x += 1) trail.slide(withMoved(trail.now, "mount_edge", 0, [x, 1]));
    trail.undo();
    expect(trail.now.mount_edge).toEqual([[1, 1]]);
  });

  it("forgets the way forth after a new step", () => {
    const trail = new MarkTrail();
    trail.put(withMark(trail.now, "mount_edge", [1, 1]));
    trail.undo();
    trail.put(withMark(trail.now, "rim_edge", [3, 3]));
    expect(trail.canRedo).toBe(false);
    trail.undo();
    expect(trail.canUndo).toBe(false);
  });
});
