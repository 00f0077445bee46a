import { afterEach, describe, expect, it } from "vitest";
import type { Phrase, PhraseValue } from "../backend/types";
import { lengthUnit } from "../units/preference.svelte";
import { CATALOGUE, type Key } from "./catalogue";
import { ENGINE, english, said } from "./engine";
import TEMPLATES from "./engine/templates.json";
import { formsOf } from "./text";
import { words } from "./words.svelte";

const languages = ["de", "fr"] as const;
const places = (text: string): string => [...new Set(text.replace(/\{\{|\}\}/g, "").match(/\{\w+\}/g) ?? [])].sort().join();

describe("what the measuring part says", () => {
  // The list of templates is made from the Rust sources, and its check fails when they have moved on.
  it.each(languages)("is there in %s, all of it and nothing else, in the same order", (language) => {
    expect(Object.keys(ENGINE[language])).toEqual(TEMPLATES);
  });

  it.each(languages)("has the same places for values in %s as in English", (language) => {
    expect(TEMPLATES.filter((code) => places(ENGINE[language][code]!) !== places(code))).toEqual([]);
  });

  it.each(languages)("is not empty in %s, and has blanks at its ends where English has them", (language) => {
    const ends = (text: string): string => `${/^ /.test(text)}${/ $/.test(text)}`;
    expect(TEMPLATES.filter((code) => ENGINE[language][code]!.trim() === "" || ends(ENGINE[language][code]!) !== ends(code))).toEqual([]);
  });

  it.each(languages)("leaves no sentence in %s as it is in English", (language) => {
    const isSentence = (code: string): boolean => (code.replace(/\{\w+\}|`[^`]*`/g, "").match(/\p{L}{2,}/gu) ?? []).length > 2;
    expect(TEMPLATES.filter((code) => isSentence(code) && ENGINE[language][code] === code)).toEqual([]);
  });

  // What is said for safety is said in every language.
  it.each([
    ["[Bb]attery|batteries", /Akku/, /batterie/],
    ["[Ss]witch the board off", /[Aa]us(ge)?schalt/, /[ÉéEe]tein/],
    ["[Ee]ye protection", /Augenschutz/, /lunettes de protection/],
    ["qualified workshop", /Fachwerkstatt/, /atelier qualifié/],
    ["[Ff]inger(?!print)", /Finger|handfest/, /doigt|à la main/],
    ["hammer", /Hammer/, /marteau/],
    ["[Dd]o not ride", /[Nn]icht fahren/, /pas rouler/],
    ["no source", /ohne Quelle/, /sans source/],
    ["from memory", /aus dem Gedächtnis/, /de mémoire/],
  ])("keeps its care: %s", (said, de, fr) => {
    const codes = TEMPLATES.filter((code) => new RegExp(said).test(code));
    expect(codes.length).toBeGreaterThan(0);
    expect(codes.filter((code) => !de.test(ENGINE.de[code]!)).map((code) => ENGINE.de[code])).toEqual([]);
    expect(codes.filter((code) => !fr.test(ENGINE.fr[code]!)).map((code) => ENGINE.fr[code])).toEqual([]);
  });
});

describe("what the page and the measuring part call one thing", () => {
  const all = (language: "en" | "de" | "fr"): string[][] => {
    const page = (Object.keys(CATALOGUE.en) as Key[]).map((key) => formsOf(CATALOGUE[language][key]));
    return [...page, ...TEMPLATES.map((code) => [language === "en" ? code : ENGINE[language][code]!])];
  };
  const [en, de, fr] = [all("en"), all("de"), all("fr")];

  it.each([
    ["bundle", "\\bbundles?\\b", /Beweispaket/, /paquet/],
    ["export", "\\bexports?\\b", /[Ee]xport/, /export/i],
    ["spacer", "\\bspacers?\\b(?!\\})", /Distanzring|\bRing/, /[Bb]ague/],
    ["backup", "\\bbackups?\\b", /[Ss]icherung/, /[Ss]auvegarde/],
    ["a sealed record", "\\brecords? (\\{\\w+\\}|of this board)|sealed record", /Protokoll/, /procès-verba/],
  ])("is one word in each language: %s", (_, english, german, french) => {
    const at = en.flatMap((forms, index) => (forms.some((form) => new RegExp(english).test(form)) ? [index] : []));
    expect(at.length).toBeGreaterThan(2);
    expect(at.filter((index) => !de[index]!.some((form) => german.test(form))).map((index) => de[index])).toEqual([]);
    expect(at.filter((index) => !fr[index]!.some((form) => french.test(form))).map((index) => fr[index])).toEqual([]);
  });
});

describe("a phrase", () => {
  afterEach(() => {
    words.speak("en");
    lengthUnit.first = "mm";
  });

  const one = (code: string, text: string, values: Record<string, PhraseValue>): Phrase => ({ code, text, values });
  const minimum = one("the gap keeps the minimum of {limit}", "the gap keeps the minimum of 0.50 mm", { limit: { is: "length", mm: 0.5, decimals: 2 } });

  it("is said in English as it came, and otherwise by its template, with numbers of the language and lengths in the page's unit", () => {
    expect(said(minimum)).toEqual({ text: "the gap keeps the minimum of 0.50 mm", lang: "en" });
    words.speak("de");
    expect(said(minimum)).toEqual({ text: "der Spalt hält das Mindestmaß von 0,50\u00a0mm ein", lang: "de" });
    lengthUnit.first = "in";
    // 0.5 mm / 25.4 = 0.019685 in.
    expect(said(minimum).text).toContain("0,020\u00a0in");
  });

  it("has a sign for what is given as +-, in every language", () => {
    const size = one("{nominal} +- {tolerance}", "7 mm +- 2 mm", { nominal: { is: "length", mm: 7 }, tolerance: { is: "length", mm: 2 } });
    expect(said(size).text).toBe("7 mm ± 2 mm");
    words.speak("de");
    expect(said(size).text).toBe("7\u00a0mm ± 2\u00a0mm");
  });

  it("may hold others", () => {
    words.speak("fr");
    const corner = one("left", "left", {});
    const gap: PhraseValue = { is: "length", mm: 1.4217, u95: 0.05 };
    const offset: PhraseValue = { is: "length", mm: -0.31, u95: 0.05 };
    expect(said(one("{0} gap {gap} with belt offset {offset}", "…", { 0: { is: "words", words: corner as Exclude<Phrase, string> }, gap, offset })).text).toBe(
      "écart gauche 1,42 ±\u00a00,05\u00a0mm avec décalage de courroie \u22120,31 ±\u00a00,05\u00a0mm",
    );
  });

  it("that has no code, or one that is not known here, stays English and says so", () => {
    words.speak("de");
    expect(said("an older program wrote this +- 1")).toEqual({ text: "an older program wrote this ± 1", lang: "en" });
    expect(said(one("a newer program says {0}", "a newer program says no", {}))).toEqual({ text: "a newer program says no", lang: "en" });
    expect(english(minimum)).toBe("the gap keeps the minimum of 0.50 mm");
  });

  it("of a table that comes with the program is its own code", () => {
    words.speak("de");
    expect(said("Axle nuts and bearing play")).toEqual({ text: "Achsmuttern und Lagerspiel", lang: "de" });
  });

  it("that is a row of others needs no translation of its own", () => {
    words.speak("de");
    const row = one("{0}; {1}", "none known; done", { 0: { is: "words", words: "none known" }, 1: { is: "words", words: "done" } });
    expect(said(row)).toEqual({ text: "keines bekannt; fertig", lang: "de" });
  });
});
