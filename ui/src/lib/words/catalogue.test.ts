import { describe, expect, it } from "vitest";
import { CATALOGUE, type Key } from "./catalogue";
import { LANGUAGES, LOCALES } from "./languages";
import { formsOf, placesOf, type Text } from "./text";
import PLACES from "./places.ts?raw";

const SOURCES = import.meta.glob<string>(["../../**/*.svelte", "../../**/*.ts", "!../../**/*.test.ts", "!./places.ts"], { query: "?raw", import: "default", eager: true });
const KEYS = Object.keys(CATALOGUE.en) as Key[];
const others = LANGUAGES.filter((language) => language !== "en");

describe("the catalogue", () => {
  it.each(others)("has the same texts in %s as in English, in the same order", (language) => {
    expect(Object.keys(CATALOGUE[language])).toEqual(KEYS);
  });

  it.each(others)("has the same places for values in %s as in English", (language) => {
    const differ = KEYS.filter((key) => placesOf(CATALOGUE[language][key]).join() !== placesOf(CATALOGUE.en[key]).join());
    expect(differ).toEqual([]);
  });

  it("declares the places that its texts have", () => {
    const have = KEYS.filter((key) => placesOf(CATALOGUE.en[key]).length > 0).map((key) => `"${key}": ${placesOf(CATALOGUE.en[key]).map((name) => `"${name}"`).join(" | ")};`);
    const declared = PLACES.split("\n").map((line) => line.trim()).filter((line) => line.startsWith('"'));
    expect(declared).toEqual(have);
  });

  it.each(others)("has the same colours of the drawings in %s as in English", (language) => {
    const colours = (text: Text): string => [...new Set(formsOf(text).map((form) => (form.match(/\[\w+\]/g) ?? []).sort().join()))].join(";");
    expect(KEYS.filter((key) => colours(CATALOGUE[language][key]) !== colours(CATALOGUE.en[key]))).toEqual([]);
  });

  it.each(LANGUAGES)("has no text in %s that is empty, padded or holds the separator of a list", (language) => {
    const odd = KEYS.filter((key) => formsOf(CATALOGUE[language][key]).some((form) => form !== form.trim() || form === "" || /[¦~]/.test(form)));
    expect(odd).toEqual([]);
  });

  it.each(LANGUAGES)("has only plural forms that %s knows", (language) => {
    const known = new Intl.PluralRules(LOCALES[language]).resolvedOptions().pluralCategories as string[];
    const plurals = KEYS.map((key): [Key, Text] => [key, CATALOGUE[language][key]]).filter(([, text]) => typeof text !== "string");
    expect(plurals.length).toBeGreaterThan(0);
    const odd = plurals.filter(([, text]) => Object.keys(text).some((form) => !known.includes(form)));
    expect(odd.map(([key]) => key)).toEqual([]);
  });

  it("has no text that the page never shows", () => {
    const all = Object.values(SOURCES).join("\n");
    expect(KEYS.filter((key) => !all.includes(`"${key}"`))).toEqual([]);
  });

  it.each(others)("leaves no sentence in %s as it is in English", (language) => {
    // Single words may be the same; sentences are not.
    const isSentence = (form: string): boolean => (form.replace(/\{\w+\}/g, "").match(/\p{L}{2,}/gu) ?? []).length > 2;
    const same = KEYS.filter((key) => formsOf(CATALOGUE.en[key]).some((form) => isSentence(form) && formsOf(CATALOGUE[language][key]).includes(form)));
    expect(same).toEqual([]);
  });

  // What a caution says of power, battery, hands and workshop it says in every language.
  it.each([
    ["battery", /Akku/, /batterie/],
    ["[Ss]witch(ed)? (the board )?off|board switched off", /[Aa]us(ge)?schalt/, /[ÉéEe]tein/],
    ["[Ff]ingers|by hand only", /Finger|nur von Hand/, /doigts|à la main seulement/],
    ["neither tip nor roll", /weder kippen noch rollen/, /ni basculer ni rouler/],
    ["away from belt and pulleys|clear of belt and pulleys", /Riemen und Riemenscheiben/, /courroie et des poulies/],
    ["qualified workshop", /Fachwerkstatt/, /atelier qualifié/],
  ])("warns of %s in every language", (english, german, french) => {
    const keys = KEYS.filter((key) => formsOf(CATALOGUE.en[key]).some((form) => new RegExp(english).test(form)));
    expect(keys.length).toBeGreaterThan(0);
    expect(keys.filter((key) => !formsOf(CATALOGUE.de[key]).every((form) => german.test(form)))).toEqual([]);
    expect(keys.filter((key) => !formsOf(CATALOGUE.fr[key]).every((form) => french.test(form)))).toEqual([]);
  });
});
