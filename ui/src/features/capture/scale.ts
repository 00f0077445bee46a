import type { PrintScale } from "../../lib/backend";
import { readNumber } from "../../lib/units/length";
import { t } from "../../lib/words/words.svelte";

/** Length of each bar on the printed page when the printer keeps its scale, mm. */
export const BAR_MM = 150;

/** A bar that measures outside this was not measured right, or the page was printed to fit, mm. */
export const BAR_RANGE_MM: readonly [number, number] = [135, 165];

/** Expanded uncertainty of a caliper reading over such a length, mm. */
export const CALIPER_U95_MM = 0.1;

/** Expanded uncertainty of a reading with a steel rule, mm. */
export const RULE_U95_MM = 0.3;

/** What the page's bars were measured with. */
export type BarTool = "calliper" | "rule";

/** What the user entered about the printed page. */
export interface BarEntry {
  measured: boolean;
  tool: BarTool;
  /** As typed. */
  x: string;
  y: string;
}

/** What is wrong with a typed bar length, or nothing. */
export function barProblem(text: string): string | null {
  if (text.trim() === "") return t("sizes.bar-needed");
  const value = readNumber(text);
  if (value === null) return t("sizes.bar-not-a-number");
  if (value < BAR_RANGE_MM[0] || value > BAR_RANGE_MM[1]) {
    return t("sizes.bar-off", { bar: BAR_MM });
  }
  return null;
}

/** The print scale of an entry; absent when the bars were not measured. */
export function printScale(entry: BarEntry): PrintScale | undefined {
  const x = readNumber(entry.x);
  const y = readNumber(entry.y);
  if (!entry.measured || x === null || y === null) return undefined;
  const reading = entry.tool === "calliper" ? CALIPER_U95_MM : RULE_U95_MM;
  return { x: x / BAR_MM, y: y / BAR_MM, u95: reading / BAR_MM };
}
