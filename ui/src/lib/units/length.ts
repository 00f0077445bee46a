/** Millimetres in an inch, exact by definition since 1959. */
export const MM_PER_INCH = 25.4;

/** The units a length is shown in. */
export type LengthUnit = "mm" | "in";

/** The unit that is not the given one. */
export function otherUnit(unit: LengthUnit): LengthUnit {
  return unit === "mm" ? "in" : "mm";
}

/**
 * Reads a number as people type it: decimal point or comma, spaces around it.
 * Gives `null` for anything else, never a guess.
 */
export function readNumber(text: string): number | null {
  const plain = text.trim().replace("\u2212", "-").replace(",", ".");
  if (!/^[+-]?(\d+\.?\d*|\.\d+)$/.test(plain)) return null;
  return Number(plain);
}
