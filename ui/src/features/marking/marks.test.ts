import { describe, expect, it } from "vitest";
import { complete, CURVES, empty, forJob, fromJob, markedEnough, marksOf, noMarks, wanted, withMark, withMoved, withoutMark, type CurveName } from "./marks";

const GAP: CurveName[] = ["mount_edge", "rim_edge"];

describe("marks", () => {
  it("asks for the mount edge first, then for the rim", () => {
    let marks = noMarks();
    const asked: (string | null)[] = [];
    for (let i = 0; i < 5; i += 1) {
      const curve = wanted(marks, GAP);
      asked.push(curve);
      if (curve) marks = withMark(marks, curve, [i, i]);
    }
    expect(asked).toEqual(["mount_edge", "mount_edge", "rim_edge", "rim_edge", "rim_edge"]);
    expect(wanted(marks, GAP)).toBeNull();
    expect(complete(marks, GAP)).toBe(true);
    expect(complete(marks, [...GAP, "outer"])).toBe(false);
  });

  it("moves and removes one mark and leaves the others", () => {
    let marks = withMark(withMark(noMarks(), "rim_edge", [1, 1]), "rim_edge", [2, 2]);
    marks = withMoved(marks, "rim_edge", 1, [5, 6]);
    expect(marks.rim_edge).toEqual([[1, 1], [5, 6]]);
    expect(withoutMark(marks, "rim_edge", 0).rim_edge).toEqual([[5, 6]]);
  });

  it("wants straight edges of a part in two photos, where there are two", () => {
    const one = withMark(withMark(noMarks(), "edge_a", [1, 1]), "edge_a", [9, 1]);
    expect(markedEnough([one], "edge_a")).toBe(true);
    expect(markedEnough([one, noMarks()], "edge_a")).toBe(false);
    expect(markedEnough([one, one, noMarks()], "edge_a")).toBe(true);
    expect(markedEnough([noMarks(), noMarks()], "outer")).toBe(false);
  });

  it("takes no more marks than help, and lets the one mark of a screw move", () => {
    let marks = noMarks();
    for (let i = 0; i < 20; i += 1) marks = withMark(withMark(marks, "rim_edge", [i, i]), "screw_1", [i, i]);
    expect(marks.rim_edge).toHaveLength(CURVES.rim_edge.most);
    expect(marks.screw_1).toEqual([[19, 19]]);
  });

  it("hands a job only curves of the check that are marked enough", () => {
    const half = withMark(noMarks(), "mount_edge", [1, 1]);
    expect(forJob(half, GAP)).toEqual({});
    const one = withMark(half, "mount_edge", [2, 2]);
    expect(forJob(one, GAP)).toEqual({ mount_edge: [[1, 1], [2, 2]] });
    expect(forJob(one, ["rim_edge"])).toEqual({});
    expect(fromJob(forJob(one, GAP))).toEqual(one);
    expect(fromJob({ nobody: [[1, 1]] })).toEqual({});
    expect(empty(fromJob(undefined)) && empty({ outer: [] })).toBe(true);
    expect(marksOf({}, "outer")).toEqual([]);
  });
});
