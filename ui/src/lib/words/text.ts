import { LOCALES, type Language } from "./languages";

/** A text of the catalogue, or one for each plural form that `count` calls for. */
export type Text = string | ({ readonly other: string } & { readonly [form in Intl.LDMLPluralRule]?: string });

/** What stands in a text's places: numbers are written as the language writes them, texts as they are. */
export type Values = { readonly [name: string]: string | number };

const PLACE = /\{(\w+)\}/g;

/** The forms of a text; one that has no plural has a single form. */
export function formsOf(text: Text): string[] {
  return typeof text === "string" ? [text] : Object.values(text);
}

/** The names of a text's places, each once and in order of the alphabet. A plural has `count` whether it shows it or not. */
export function placesOf(text: Text): string[] {
  const chosenBy = typeof text === "string" ? [] : ["count"];
  const names = formsOf(text).flatMap((form) => [...form.matchAll(PLACE)].map((found) => found[1]!));
  return [...new Set([...chosenBy, ...names])].sort();
}

/** A number with all its digits, with the language's decimal mark and without marks between thousands. */
export function numberText(value: number, language: Language): string {
  return marked(String(value), language);
}

const marks = new Map<Language, string>();

/** Gives a number that is written with a point the language's own decimal mark. */
export function marked(digits: string, language: Language): string {
  let mark = marks.get(language);
  if (mark === undefined) {
    mark = new Intl.NumberFormat(LOCALES[language]).formatToParts(0.5).find((part) => part.type === "decimal")?.value ?? ".";
    marks.set(language, mark);
  }
  return digits.replace(".", mark);
}

const rules = new Map<Language, Intl.PluralRules>();

function formFor(text: Exclude<Text, string>, count: number, language: Language): string {
  let rule = rules.get(language);
  if (!rule) rules.set(language, (rule = new Intl.PluralRules(LOCALES[language])));
  return text[rule.select(count)] ?? text.other;
}

/** A text with its values in their places. A place without a value stays as it is, so that it is seen. */
export function filled(text: Text, values: Values, language: Language): string {
  const form = typeof text === "string" ? text : formFor(text, Number(values["count"]), language);
  return form.replace(PLACE, (place, name: string) => {
    const value = values[name];
    if (value === undefined) return place;
    return typeof value === "number" ? numberText(value, language) : value;
  });
}
