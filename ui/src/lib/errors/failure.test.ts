import { describe, expect, it } from "vitest";
import { CATALOGUE } from "../words/catalogue";
import { words } from "../words/words.svelte";
import { FAILURE_HEADS, sentence, toFailure } from "./failure";

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

describe("whose words a failure has", () => {
  it("are told apart: those of the page are in its language, all others English", () => {
    words.speak("de");
    try {
      expect(toFailure(undefined)).toMatchObject({ own: true, message: CATALOGUE.de["failure.unknown"] });
      const thrown = toFailure(new Error("boom"));
      expect(thrown.own).toBeUndefined();
      expect(thrown.hint).toBe(CATALOGUE.en["failure.again"]);
    } finally {
      words.speak("en");
    }
  });

  it.each(["de", "fr"] as const)("a head in %s stands for every code, and each is another", (language) => {
    const heads = Object.values(FAILURE_HEADS).map((key) => CATALOGUE[language][key]);
    expect(new Set(heads).size).toBe(6);
  });
});

const SOURCES = import.meta.glob<string>(["../../**/*.svelte", "!../../phone/**"], { query: "?raw", import: "default", eager: true });

describe("what the measuring part says", () => {
  // These tell both kinds apart themselves.
  const APART = ["Told.svelte", "FailureNote.svelte", "Cautions.svelte"];

  it("is marked as English wherever it is shown", () => {
    const bare = Object.entries(SOURCES)
      .filter(([path]) => !APART.includes(path.split("/").at(-1)!))
      .flatMap(([path, source]) => [...source.split("</script>").slice(1).join("").matchAll(/sentence\((?!t\()[^)]*/g)].map((found) => `${path}: ${found[0]}`));
    expect(bare).toEqual([]);
    expect(Object.values(SOURCES).filter((source) => source.includes("<Told ")).length).toBeGreaterThan(10);
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
