import type { Quantity } from "../backend/types";
import { MM_PER_INCH, type LengthUnit } from "../units/length";
import { t, inDigits } from "../words/words.svelte";

const MINUS = "\u2212";
/** Keeps a number and its unit on one line; a line may end before the sign ±. */
const TIED = "\u00a0";
/** Decimals that are never exceeded: a thousandth of a millimetre is finer than anything measured here. */
const MOST_DECIMALS: Record<LengthUnit, number> = { mm: 3, in: 4 };

/**
 * Decimals that fit an uncertainty: it keeps one digit, or two when it begins with 1 or 2 (JCGM 100:2008, 7.2.6).
 * The command line and the advice round by the same rule.
 */
export function decimalsFor(u95: number, most: number): number {
  if (!Number.isFinite(u95) || u95 <= 0) return most;
  for (let decimals = 0; decimals < most; decimals += 1) {
    if (u95 * 10 ** decimals >= 3 - 1e-9) return decimals;
  }
  return most;
}

/** A number with fixed decimals, the decimal mark of the language, a true minus sign and no negative zero. */
export function fixed(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return "–";
  const text = Math.abs(value).toFixed(decimals);
  return inDigits(value < 0 && Number(text) !== 0 ? MINUS + text : text);
}

/** A value and its uncertainty as text, both to the same decimals, without the unit. */
export interface Shown {
  value: string;
  u95: string;
}

/** Rounds a value to its uncertainty, and that one up, so that it is never understated. */
export function shown(value: number, u95: number, most: number): Shown {
  const decimals = decimalsFor(u95, most);
  const step = 10 ** decimals;
  // The small allowance keeps 0.05 from becoming 0.06 through its binary form.
  const up = Math.ceil(u95 * step * (1 - 1e-9)) / step;
  return { value: fixed(value, decimals), u95: fixed(up, decimals) };
}

/** A length and its uncertainty, both given in mm, as text in the unit asked for. */
export function shownLength(valueMm: number, u95Mm: number, unit: LengthUnit): Shown {
  const scale = unit === "in" ? 1 / MM_PER_INCH : 1;
  return shown(valueMm * scale, u95Mm * scale, MOST_DECIMALS[unit]);
}

/** `1.42 ± 0.05 mm`. */
export function lengthText(valueMm: number, u95Mm: number, unit: LengthUnit): string {
  const text = shownLength(valueMm, u95Mm, unit);
  return `${text.value} ±${TIED}${text.u95}${TIED}${unit}`;
}

/** Decimals beyond which no quantity is shown. */
const MOST_DECIMALS_OF_OTHERS = 6;

/** What follows a number without a unit of its own, or with a sign for one. */
const SIGNS: Record<string, string> = { "1": "", deg: "°" };

/** A quantity that is no length, in its own unit: `150.3 ± 0.6 Hz`, `0.41 ± 0.12°`. */
export function quantityText({ value, u95, unit }: Quantity): string {
  const text = shown(value, u95, MOST_DECIMALS_OF_OTHERS);
  return `${text.value} ±${TIED}${text.u95}${SIGNS[unit] ?? TIED + unit}`;
}

/** A length that carries no uncertainty of its own, such as a ring's thickness as written on it. */
export function plainLength(valueMm: number, unit: LengthUnit): string {
  return unit === "in" ? `${fixed(valueMm / MM_PER_INCH, 4)}${TIED}in` : `${fixed(valueMm, 2)}${TIED}mm`;
}

/** A chance as people say it: never a bare 0 % or 100 %. */
export function chance(probability: number): string {
  if (probability < 0.001) return t("chance.under");
  if (probability > 0.999) return t("chance.over");
  const percent = probability * 100;
  // With decimals towards both ends, where rounding would claim what is not so.
  return `${fixed(percent, percent < 10 || percent >= 99 ? 1 : 0)}${TIED}%`;
}
