import { describe, expect, it } from "vitest";
import { addedMasses } from "./added";

describe("addedMasses", () => {
  it("reads what was typed", () => {
    expect(addedMasses([])).toEqual([]);
    expect(addedMasses([{ name: " valve cap ", grams: "1,2", radius: "42" }])).toEqual([{ name: "valve cap", grams: 1.2, radius: 42 }]);
  });

  it.each([
    { name: "", grams: "1", radius: "42" },
    { name: "cap", grams: "", radius: "42" },
    { name: "cap", grams: "-1", radius: "42" },
    { name: "cap", grams: "1", radius: "far" },
  ])("waits for what is missing in %o", (entry) => expect(addedMasses([entry])).toBeNull());
});
