import { describe, expect, it } from "vitest";
import { barProblem, printScale } from "./scale";

describe("printScale", () => {
  it("is measured over nominal, with the tool's uncertainty", () => {
    const scale = printScale({ measured: true, tool: "calliper", x: "150.3", y: "149,7" });
    expect(scale?.x).toBeCloseTo(1.002, 9);
    expect(scale?.y).toBeCloseTo(0.998, 9);
    expect(scale?.u95).toBeCloseTo(0.1 / 150, 9);
    expect(printScale({ measured: true, tool: "rule", x: "150", y: "150" })?.u95).toBeCloseTo(0.002, 9);
  });

  it("is absent when nothing was measured", () => {
    expect(printScale({ measured: false, tool: "calliper", x: "150", y: "150" })).toBeUndefined();
  });
});

describe("barProblem", () => {
  it.each(["", "abc", "15", "300"])("refuses %s", (text) => expect(barProblem(text)).not.toBeNull());
  it("takes a bar that was really measured", () => expect(barProblem("149.6")).toBeNull());
});
