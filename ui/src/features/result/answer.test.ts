import { describe, expect, it } from "vitest";
import { budgetBars, gapOf, nextOf } from "./answer";

describe("budgetBars", () => {
  it("sorts by size and measures against the largest", () => {
    const bars = budgetBars([
      { part: "print scale", u: 0.004, note: "" },
      { part: "edge noise", u: 0.02, note: "" },
      { part: "camera", u: 0.00001, note: "" },
    ]);
    expect(bars.map((bar) => bar.part)).toEqual(["edge noise", "print scale"]);
    expect(bars[0]?.length).toBe(1);
    expect(bars[1]?.length).toBeCloseTo(0.2);
  });

  it("draws nothing when there is nothing", () => expect(budgetBars([])).toEqual([]));
});

describe("gapOf", () => {
  const verdict = { state: "within", text: "", limit: 0.5, probability: 1 } as const;
  const result = { check: "gap", values: {}, verdict, budget: [], photos: [], warnings: [] } as const;
  it("finds one number and nothing else", () => {
    const gap = { value: 1, u95: 0.1, unit: "mm" };
    const base = { ...result, budget: [], photos: [], warnings: [] };
    expect(gapOf({ ...base, values: { gap } })).toEqual(gap);
    expect(gapOf({ ...base, values: { gap: [gap] } })).toBeNull();
    expect(gapOf({ ...base, values: {} })).toBeNull();
  });
});

describe("what comes after an answer", () => {
  const base = { values: {}, budget: [], photos: [], warnings: [] };
  const next = (check: "gap" | "turn" | "play" | "alignment" | "part", state: "within" | "outside" | "undecided") =>
    nextOf({ ...base, check, verdict: { state, text: "", limit: 0.1, probability: 0.5 } });
  it("is the page that says what to do, where a check came out badly and brings no advice", () => {
    expect([next("turn", "outside"), next("alignment", "outside"), next("play", "outside")]).toEqual(["recentre", "belt", "service"]);
    expect([next("gap", "outside"), next("part", "outside"), next("turn", "within")]).toEqual([null, null, null]);
  });

  it("is nothing where it is too close to call, as the verdict says what would help", () => expect(next("turn", "undecided")).toBeNull());
});
