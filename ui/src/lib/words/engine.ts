import type { Phrase, PhraseValue } from "../backend/types";
import { targetName } from "../format/words";
import { chance, fixed, lengthText, quantityText } from "../format/quantity";
import { MM_PER_INCH } from "../units/length";
import { lengthUnit } from "../units/preference.svelte";
import de from "./engine/de.json";
import fr from "./engine/fr.json";
import type { Language } from "./languages";
import { numeral, words } from "./words.svelte";

/** What the measuring part says in other languages than its own, by template. A language may lack one: it is shown in English then. */
export const ENGINE: Record<Exclude<Language, "en">, Record<string, string>> = { de, fr };

/** Words of the measuring part, and the language that they are in. */
export interface Said {
  text: string;
  lang: Language;
}

/** Words with the sign for what is given as `+-`. */
const signed = (text: string): string => text.replaceAll("+-", "±");

/** The English words of a phrase. */
export const english = (phrase: Phrase): string => signed(typeof phrase === "string" ? phrase : phrase.text);

/** The template of a phrase; bare words are their own, as they stand in tables that come with the program. */
const codeOf = (phrase: Phrase): string => (typeof phrase === "string" ? phrase.replaceAll("{", "{{").replaceAll("}", "}}") : phrase.code);

const LETTERS = /\p{L}/u;
const PLACE = /\{\{|\}\}|\{(\w+)\}/g;

/** A phrase in the language that is shown, or else in English. */
export function said(phrase: Phrase): Said {
  if (words.now === "en") return { text: english(phrase), lang: "en" };
  const code = codeOf(phrase);
  const template = ENGINE[words.now][code] ?? (LETTERS.test(code.replace(PLACE, "")) ? null : code);
  // Without a code and without letters it is a name or a number, and without places it has no values.
  if (template === null) return { text: english(phrase), lang: "en" };
  const values = typeof phrase === "string" ? {} : (phrase.values ?? {});
  const text = template.replace(PLACE, (place, name: string | undefined) => {
    if (name === undefined) return place.charAt(0);
    const value = values[name];
    return value ? valueText(value) : place;
  });
  return { text: signed(text), lang: words.now };
}

/** The text alone, for where no language can be marked. */
export const saidText = (phrase: Phrase): string => said(phrase).text;

function valueText(value: PhraseValue): string {
  switch (value.is) {
    case "text":
      return targetName(value.text);
    case "number":
      return (value.signed && value.value >= 0 ? "+" : "") + (value.decimals === undefined ? numeral(value.value) : fixed(value.value, value.decimals));
    case "length":
      return value.u95 === undefined ? setLength(value.mm, value.decimals) : lengthText(value.mm, value.u95, lengthUnit.first);
    case "measured":
      return quantityText(value);
    case "chance":
      return chance(value.probability);
    case "torque":
      return `${numeral(value.newton_metres)}\u00a0N\u00a0m`;
    case "words":
      return said(value.words).text;
  }
}

/** Decimals of inches that are never exceeded. */
const MOST_INCH_DECIMALS = 4;

/** A length without an uncertainty, in the unit of the page; in inches with a digit more, and with three at least. */
function setLength(mm: number, decimals: number | undefined): string {
  if (lengthUnit.first === "mm") return `${decimals === undefined ? numeral(mm) : fixed(mm, decimals)}\u00a0mm`;
  const own = decimals ?? String(mm).split(".")[1]?.length ?? 0;
  return `${fixed(mm / MM_PER_INCH, Math.min(MOST_INCH_DECIMALS, Math.max(3, own + 1)))}\u00a0in`;
}
