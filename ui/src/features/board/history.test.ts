import { describe, expect, it } from "vitest";
import type { Corner, HistoryEntry } from "../../lib/backend";
import { newestOf } from "./history";

function entry(id: string, corner: Corner): HistoryEntry {
  return {
    id,
    at: "2026-01-02T10:00:00+01:00",
    corner,
    fitted: { spacer_label: "", spacer_thickness: 0, belt_offset: 0, belt_offset_u95: 1 },
    result: {
      check: "gap",
      values: {},
      verdict: { state: "within", text: "", limit: 0.5, probability: 1 },
      budget: [],
      photos: [],
      warnings: [],
    },
    job: { check: "gap", photos: [] },
    photo_ids: [],
    work_done: "",
  };
}

describe("newestOf", () => {
  it("takes the first of its corner", () => {
    const history = [entry("c", "right"), entry("b", "left"), entry("a", "left")];
    expect(newestOf(history, "left")?.id).toBe("b");
    expect(newestOf([], "left")).toBeNull();
  });
});
