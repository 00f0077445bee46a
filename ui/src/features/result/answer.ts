import type { BudgetLine, CheckResult, Quantity, Phrase } from "../../lib/backend";
import { quantityOf } from "../../lib/format/checks";

/** The gap of a result; absent when the check gave none. */
export function gapOf(result: CheckResult): Quantity | null {
  return quantityOf(result, "gap");
}

/** A line of the uncertainty budget, ready to be drawn. */
export interface BudgetBar {
  part: Phrase;
  note: Phrase;
  u: number;
  /** Length against the largest part, 0 to 1. */
  length: number;
}

/** The parts of a budget as bars, largest first. Parts that nobody could see are left out. */
export function budgetBars(budget: BudgetLine[]): BudgetBar[] {
  const largest = Math.max(0, ...budget.map((line) => line.u));
  if (largest === 0) return [];
  return budget
    .filter((line) => line.u > largest / 200)
    .sort((a, b) => b.u - a.u)
    .map((line) => ({ ...line, length: line.u / largest }));
}
