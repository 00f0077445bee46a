import { describe, expect, it } from "vitest";
import type { Board } from "../../lib/backend";
import { NEW_BOARD } from "../board/form";
import { PLANS } from "./plans";
import { heightProblems, heightsOfJob, noHeights, sizeEntry, sizeProblems, sizesOfJob } from "./sizes";

const board: Board = { ...NEW_BOARD, drive: { ...NEW_BOARD.drive, rim_chamfer: 0.1 } };

describe("sizes of a check", () => {
  it("start from the board, and leave out what nobody knows", () => {
    const { fields } = PLANS.gap;
    const entry = sizeEntry(fields, board);
    expect(entry.mount_chamfer).toBe("");
    expect(sizeProblems(fields, entry)).toEqual({});
    expect(sizesOfJob(fields, entry)).toEqual({ rim_diameter: 99, rim_chamfer: 0.1, minimum_gap: 0.5 });
  });

  it("name each size that cannot be right", () => {
    const typed = { rim_diameter: "9", mount_chamfer: "x", rim_chamfer: "", minimum_gap: "" };
    expect(Object.keys(sizeProblems(PLANS.gap.fields, typed)).sort()).toEqual(["minimum_gap", "mount_chamfer", "rim_diameter"]);
  });

  it("of a part know nothing of the board's rim, and belong together", () => {
    const { fields } = PLANS.part;
    const entry = sizeEntry(fields, board);
    expect(sizesOfJob(fields, entry)).toBeUndefined();
    expect(Object.keys(sizeProblems(fields, { ...entry, nominal: "12.7" }))).toEqual(["tolerance"]);
    expect(Object.keys(sizeProblems(fields, { ...entry, tolerance: "0.1" }))).toEqual(["nominal"]);
    expect(sizeProblems(fields, { ...entry, nominal: "12.7", tolerance: "0.1" })).toEqual({});
  });
});

describe("heights", () => {
  it("go by mark, and all or none", () => {
    const { heights } = PLANS.gap;
    const entry = noHeights(heights);
    expect(Object.keys(heightProblems(heights, entry)).sort()).toEqual(["mount_edge", "rim_edge"]);
    expect(heightsOfJob(heights, entry)).toBeUndefined();
    entry.values = { mount_edge: "12", rim_edge: "-3,5" };
    expect(heightProblems(heights, entry)).toEqual({});
    expect(heightsOfJob(heights, entry)).toEqual({ mount_edge: { value: 12, u95: 0.5 }, rim_edge: { value: -3.5, u95: 0.5 } });
  });
});
