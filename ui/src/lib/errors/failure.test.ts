import { describe, expect, it } from "vitest";
import { sentence, toFailure } from "./failure";

describe("toFailure", () => {
  it("keeps a failure as it is", () => {
    const failure = { code: "not-measurable", message: "one view only", hint: "take one more" } as const;
    expect(toFailure(failure)).toBe(failure);
  });

  it("gives anything else the internal code", () => {
    expect(toFailure(new Error("boom"))).toMatchObject({ code: "internal", message: "boom" });
    expect(toFailure("text")).toMatchObject({ code: "internal", message: "text" });
    expect(toFailure(undefined).message).not.toBe("");
  });

  it("does not trust an unknown code", () => {
    expect(toFailure({ code: "fancy", message: "x", hint: "y" }).code).toBe("internal");
  });
});

describe("sentence", () => {
  it("starts with a capital and ends with a stop", () => {
    expect(sentence("the file is empty")).toBe("The file is empty.");
    expect(sentence("Done already!")).toBe("Done already!");
    expect(sentence("  ")).toBe("");
  });

  it("leaves a file's name alone", () => {
    expect(sentence("notes.txt: this is not a picture")).toBe("notes.txt: this is not a picture.");
  });
});
