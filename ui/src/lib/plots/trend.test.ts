import { describe, expect, it } from "vitest";
import type { HistoryEntry } from "../backend/types";
import { timeScale, trendKinds, trendLimit, trendOf, valueScale } from "./trend";

function entry(day: number, value: number, ring: string): HistoryEntry {
  return {
    id: String(day),
    at: `2026-03-${String(day).padStart(2, "0")}T10:00:00+01:00`,
    corner: "left",
    fitted: { spacer_label: ring, spacer_thickness: 12, belt_offset: 0, belt_offset_u95: 1 },
    result: {
      check: "gap",
      values: { gap: { value, u95: 0.1, unit: "mm" } },
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

// Newest first, as it comes.
const HISTORY = [entry(20, 1.2, "1/2 in"), entry(10, 0.6, "7/16 in"), entry(1, 0.4, "7/16 in")];

describe("a trend", () => {
  it("runs from old to new and marks a change of ring", () => {
    const points = trendOf(HISTORY, "left", "gap");
    expect(points.map((point) => [point.value, point.change])).toEqual([[0.4, ""], [0.6, ""], [1.2, "ring 1/2 in"]]);
    expect(trendOf(HISTORY, "right", "gap")).toEqual([]);
    expect(trendKinds(HISTORY)).toEqual(["gap"]);
    expect(trendKinds(HISTORY.slice(0, 1))).toEqual([]);
    expect(trendLimit(HISTORY, "gap")).toBe(0.5);
    expect(trendLimit(HISTORY, "turn")).toBeNull();
  });

  it("marks another belt", () => {
    const belt = (mass: number) => ({ span: { value: 98, u95: 1 }, mass_per_length: { value: mass, u95: 1 } });
    const tension = (day: number, mass: number): HistoryEntry => ({
      ...entry(day, 1, "a"),
      result: { ...entry(day, 1, "a").result, check: "tension", values: { tension: { value: 50, u95: 3, unit: "N" } } },
      job: { check: "tension", photos: [], belt: belt(mass) },
    });
    expect(trendOf([tension(3, 60), tension(2, 58), tension(1, 58)], "left", "tension").map((point) => point.change)).toEqual(["", "", "other belt"]);
  });

  it("lays out times and values so that all is seen", () => {
    const points = trendOf(HISTORY, "left", "gap");
    const [across, up] = [timeScale(points, 100), valueScale(points, 0.5, 80)];
    expect([across(points[0]!.at), across(points[2]!.at)]).toEqual([0, 100]);
    expect(timeScale(points.slice(0, 1), 100)(points[0]!.at)).toBe(50);
    expect(up(0)).toBe(80);
    expect(up(1.3)).toBeGreaterThanOrEqual(0);
  });
});
