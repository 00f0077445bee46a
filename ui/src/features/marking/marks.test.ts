import { describe, expect, it } from "vitest";
import { complete, empty, forJob, fromJob, MOST_MARKS, noMarks, wanted, withMark, withMoved, withoutMark } from "./marks";

describe("marks", () => {
  it("asks for the mount edge first, then for the rim", () => {
    let marks = noMarks();
    const asked: (string | null)[] = [];
    for (let i = 0; i < 5; i += 1) {
      const edge = wanted(marks);
      asked.push(edge);
      if (edge) marks = withMark(marks, edge, [i, i]);
    }
    expect(asked).toEqual(["mount_edge", "mount_edge", "rim_edge", "rim_edge", "rim_edge"]);
    expect(wanted(marks)).toBeNull();
    expect(complete(marks)).toBe(true);
  });

  it("moves and removes one mark and leaves the others", () => {
    let marks = withMark(withMark(noMarks(), "rim_edge", [1, 1]), "rim_edge", [2, 2]);
    marks = withMoved(marks, "rim_edge", 1, [5, 6]);
    expect(marks.rim_edge).toEqual([[1, 1], [5, 6]]);
    expect(withoutMark(marks, "rim_edge", 0).rim_edge).toEqual([[5, 6]]);
  });

  it("takes no more marks than help", () => {
    let marks = noMarks();
    for (let i = 0; i < 20; i += 1) marks = withMark(marks, "rim_edge", [i, i]);
    expect(marks.rim_edge).toHaveLength(MOST_MARKS);
  });

  it("hands a job only edges that are marked enough", () => {
    const half = withMark(noMarks(), "mount_edge", [1, 1]);
    expect(forJob(half)).toEqual({});
    const one = withMark(half, "mount_edge", [2, 2]);
    expect(forJob(one)).toEqual({ mount_edge: [[1, 1], [2, 2]] });
    expect(fromJob(forJob(one))).toEqual(one);
    expect(empty(fromJob(undefined))).toBe(true);
  });
});
