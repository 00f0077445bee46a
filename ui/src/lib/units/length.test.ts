import { describe, expect, it } from "vitest";
import { otherUnit, readNumber } from "./length";

describe("readNumber", () => {
  it.each([
    ["150.2", 150.2],
    ["149,8", 149.8],
    [" 12 ", 12],
    [".5", 0.5],
    ["3.", 3],
    ["-0.4", -0.4],
  ])("reads %s", (text, value) => expect(readNumber(text)).toBe(value));

  it.each(["", "abc", "1.2.3", "1,234.5", "12 mm", "1e3", "Infinity"])("refuses %s", (text) =>
    expect(readNumber(text)).toBeNull(),
  );
});

describe("otherUnit", () => {
  it("changes sides", () => {
    expect(otherUnit("mm")).toBe("in");
    expect(otherUnit("in")).toBe("mm");
  });
});
