import { afterEach, describe, expect, it } from "vitest";
import { day } from "../format/moment";
import { chance, fixed, lengthText, plainLength } from "../format/quantity";
import { languageOf, readChoice } from "./languages";
import { filled, numberText, placesOf } from "./text";
import { t, words } from "./words.svelte";

afterEach(() => words.speak("en"));

describe("the language", () => {
  it.each([
    ["system", ["de-AT", "en"], "de"],
    ["system", ["fr"], "fr"],
    ["system", ["it-IT", "FR-ca"], "fr"],
    ["system", ["pt_BR", "ja"], "en"],
    ["system", [], "en"],
    ["en", ["de"], "en"],
    ["fr", ["de"], "fr"],
  ] as const)("of %s where the system asks for %j is %s", (choice, asked, language) => {
    expect(languageOf(choice, asked)).toBe(language);
  });

  it("that was kept comes back, and nothing else does", () => {
    expect(["system", "de", "fr", "en"].map(readChoice)).toEqual(["system", "de", "fr", "en"]);
    expect([null, "", "it", "DE"].map(readChoice)).toEqual(["system", "system", "system", "system"]);
  });
});

describe("a text", () => {
  const checks = { one: "{count} check of {name}", other: "{count} checks of {name}" };

  it("takes its values and the plural of its language", () => {
    expect(filled(checks, { count: 1, name: "a" }, "en")).toBe("1 check of a");
    expect(filled(checks, { count: 0, name: "a" }, "en")).toBe("0 checks of a");
    // French counts nothing and one and a half as one, English and German do not (Unicode CLDR plural rules).
    expect(filled(checks, { count: 0, name: "a" }, "fr")).toBe("0 check of a");
    expect(filled(checks, { count: 1.5, name: "a" }, "fr")).toBe("1,5 check of a");
    expect(filled(checks, { count: 1.5, name: "a" }, "de")).toBe("1,5 checks of a");
    // A form that a language has and a text does not is the general one: a million is `many` in French.
    expect(filled(checks, { count: 1e6, name: "a" }, "fr")).toBe("1000000 checks of a");
  });

  it("names its places, and shows one that got nothing", () => {
    expect(placesOf(checks)).toEqual(["count", "name"]);
    expect(placesOf({ one: "the photo", other: "the photos" })).toEqual(["count"]);
    expect(filled("{a} and {b}", { a: "{b}" }, "en")).toBe("{b} and {b}");
  });

  it("comes in the language that is shown", () => {
    expect(t("common.cancel")).toBe("Cancel");
    words.speak("de");
    expect(t("common.cancel")).toBe("Abbrechen");
    expect(t("boards.shown", { shown: 60, all: 5000 })).toBe("60 von 5000 Boards");
    words.speak("fr");
    expect(t("common.cancel")).toBe("Annuler");
  });
});

describe("numbers and days", () => {
  it("carry the language's own decimal mark and lose no digit", () => {
    expect(numberText(11.1125, "en")).toBe("11.1125");
    expect(numberText(11.1125, "de")).toBe("11,1125");
    expect(numberText(12345.5, "fr")).toBe("12345,5");
    words.speak("de");
    expect(lengthText(-1.4217, 0.05, "mm")).toBe("\u22121,42 ±\u00a00,05\u00a0mm");
    expect(plainLength(11.1125, "in")).toBe("0,4375\u00a0in");
    expect(fixed(99.7, 1)).toBe("99,7");
    expect([chance(0), chance(0.034)]).toEqual(["unter 0,1 %", "3,4\u00a0%"]);
    expect(day("2026-05-13")).toBe("13. Mai 2026");
    words.speak("fr");
    expect(fixed(0.5, 2)).toBe("0,50");
    expect(day("2026-05-13")).toBe("13 mai 2026");
  });
});
