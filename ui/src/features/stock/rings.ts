import type { SpacerStock } from "../../lib/backend";
import { readNumber } from "../../lib/units/length";
import { sizeProblem } from "../capture/drive";
import { numeral, t } from "../../lib/words/words.svelte";

/** A drawer of rings as typed. */
export interface RingEntry {
  /** Tells the rows apart while labels are being typed. */
  key: number;
  label: string;
  thickness: string;
  u95: string;
  count: string;
}

export function ringEntries(stock: SpacerStock[]): RingEntry[] {
  return stock.map((ring, key) => ({
    key,
    label: ring.label,
    thickness: numeral(ring.thickness),
    u95: numeral(ring.u95),
    count: numeral(ring.count),
  }));
}

export type RingProblems = Partial<Record<"label" | "thickness" | "u95" | "count", string>>;

/** What is wrong with one row; labels must differ, since advice names rings by them. */
export function ringProblems(entry: RingEntry, all: RingEntry[]): RingProblems {
  const problems: RingProblems = {};
  const label = entry.label.trim();
  if (label === "") problems.label = t("rings.name-wanted");
  else if (all.some((other) => other.key !== entry.key && other.label.trim() === label)) {
    problems.label = t("rings.name-twice");
  }
  const thickness = sizeProblem(entry.thickness, 0.05, 60);
  if (thickness) problems.thickness = thickness;
  const u95 = sizeProblem(entry.u95, 0, 5);
  if (u95) problems.u95 = u95;
  if (!/^\d{1,4}$/.test(entry.count.trim())) problems.count = t("common.whole-number");
  return problems;
}

export function stockOf(entries: RingEntry[]): SpacerStock[] {
  return entries.map((entry) => ({
    label: entry.label.trim(),
    thickness: readNumber(entry.thickness) ?? 0,
    u95: readNumber(entry.u95) ?? 0,
    count: Number(entry.count),
  }));
}
