import { describe, expect, it } from "vitest";
import { ringEntries, ringProblems, stockOf } from "./rings";

const stock = [
  { label: "7/16 in", thickness: 11.11, u95: 0.02, count: 4 },
  { label: "1/2 in", thickness: 12.7, u95: 0.02, count: 2 },
];

describe("rings", () => {
  it("gives back the stock it was filled from", () => {
    expect(stockOf(ringEntries(stock))).toEqual(stock);
  });

  it("refuses two drawers of one name", () => {
    const entries = ringEntries(stock);
    entries[1]!.label = " 7/16 in";
    expect(ringProblems(entries[1]!, entries).label).toBeDefined();
  });

  it("refuses half a ring and no thickness", () => {
    const entries = ringEntries(stock);
    entries[0]!.count = "1.5";
    entries[0]!.thickness = "";
    expect(Object.keys(ringProblems(entries[0]!, entries)).sort()).toEqual(["count", "thickness"]);
    expect(ringProblems(entries[1]!, entries)).toEqual({});
  });
});
