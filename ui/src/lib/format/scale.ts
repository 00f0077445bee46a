import { fixed } from "./quantity";

/** What a gap scale draws: positions run from 0 at its left end to 1 at its right end. */
export interface GapScaleView {
  /** Where the limit stands. */
  limit: number;
  /** Where the value stands. */
  value: number;
  /** The interval of the value, cut at the scale's ends. */
  low: number;
  high: number;
  /** Marks with their labels, in mm. */
  marks: { at: number; label: string }[];
}

const STEPS = [0.1, 0.2, 0.5, 1, 2, 5, 10];
const MOST_MARKS = 7;

/** Lays out a scale from 0 (or below, when the value's interval reaches there) to beyond both value and limit. */
export function gapScale(valueMm: number, u95Mm: number, limitMm: number): GapScaleView {
  const top = 1.2 * Math.max(valueMm + u95Mm, 2 * limitMm, 0.5);
  const step = STEPS.find((candidate) => top / candidate <= MOST_MARKS) ?? top / MOST_MARKS;
  const end = Math.ceil(top / step) * step;
  const start = Math.min(0, Math.floor((valueMm - u95Mm) / step) * step);
  const at = (mm: number): number => Math.min(1, Math.max(0, (mm - start) / (end - start)));
  const decimals = step < 1 ? 1 : 0;
  const marks = [];
  for (let i = Math.round(start / step); i <= Math.round(end / step); i += 1) {
    const mm = i * step;
    marks.push({ at: at(mm), label: fixed(mm, decimals) });
  }
  return { limit: at(limitMm), value: at(valueMm), low: at(valueMm - u95Mm), high: at(valueMm + u95Mm), marks };
}
