import { MM_PER_INCH, type LengthUnit } from "../units/length";

const MINUS = "\u2212";
const MOST_DECIMALS = 6;

/**
 * Decimals that fit an uncertainty: two digits of it when it starts with a 1 or a 2, else one.
 * A value is never shown finer than it is known.
 */
export function decimalsFor(u95: number): number {
  if (!Number.isFinite(u95) || u95 <= 0) return 2;
  const exponent = Math.floor(Math.log10(u95));
  const lead = u95 / 10 ** exponent;
  const digits = lead < 2.95 ? 2 : 1;
  return Math.min(MOST_DECIMALS, Math.max(0, digits - 1 - exponent));
}

/** A number with fixed decimals, a true minus sign and no negative zero. */
export function fixed(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return "–";
  const text = Math.abs(value).toFixed(decimals);
  return value < 0 && Number(text) !== 0 ? MINUS + text : text;
}

/** A value and its uncertainty as text, both to the same decimals, without the unit. */
export interface Shown {
  value: string;
  u95: string;
}

/** Rounds a value to its uncertainty (JCGM 100:2008, 7.2.6). */
export function shown(value: number, u95: number): Shown {
  const decimals = decimalsFor(u95);
  return { value: fixed(value, decimals), u95: fixed(u95, decimals) };
}

/** A length and its uncertainty, both given in mm, as text in the unit asked for. */
export function shownLength(valueMm: number, u95Mm: number, unit: LengthUnit): Shown {
  const scale = unit === "in" ? 1 / MM_PER_INCH : 1;
  return shown(valueMm * scale, u95Mm * scale);
}

/** `1.42 ± 0.05 mm`. */
export function lengthText(valueMm: number, u95Mm: number, unit: LengthUnit): string {
  const text = shownLength(valueMm, u95Mm, unit);
  return `${text.value} ± ${text.u95} ${unit}`;
}

/** A length that carries no uncertainty of its own, such as a ring's thickness as written on it. */
export function plainLength(valueMm: number, unit: LengthUnit): string {
  return unit === "in" ? `${fixed(valueMm / MM_PER_INCH, 4)} in` : `${fixed(valueMm, 2)} mm`;
}

/** A chance as people say it: never a bare 0 % or 100 %. */
export function chance(probability: number): string {
  if (probability < 0.001) return "under 0.1 %";
  if (probability > 0.999) return "over 99.9 %";
  const percent = probability * 100;
  return `${fixed(percent, percent < 10 ? 1 : 0)} %`;
}
