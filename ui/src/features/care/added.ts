import type { AddedMass } from "../../lib/backend";
import { readNumber } from "../../lib/units/length";

/** A mass on the wheel, as typed. */
export interface AddedEntry {
  name: string;
  grams: string;
  radius: string;
}

/** The masses as numbers; `null` while one of them cannot be read. */
export function addedMasses(entries: AddedEntry[]): AddedMass[] | null {
  const masses: AddedMass[] = [];
  for (const entry of entries) {
    const [grams, radius] = [readNumber(entry.grams), readNumber(entry.radius)];
    if (entry.name.trim() === "" || grams === null || radius === null || grams < 0 || radius < 0) return null;
    masses.push({ name: entry.name.trim(), grams, radius });
  }
  return masses;
}
