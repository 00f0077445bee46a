import type { BudgetLine, CheckKind, CheckResult, Quantity, Phrase } from "../../lib/backend";
import { quantityOf } from "../../lib/format/checks";

/** The gap of a result; absent when the check gave none. */
export function gapOf(result: CheckResult): Quantity | null {
  return quantityOf(result, "gap");
}

/** The page about the board's care that says what to do when a check comes out badly. A gap has its advice with its answer. */
const CARE = { turn: "recentre", alignment: "belt", play: "service" } as const satisfies Partial<Record<CheckKind, string>>;

/** What comes after an answer that does not say it itself. One that is too close to call says what would help most. */
export function nextOf({ check, verdict }: CheckResult): (typeof CARE)[keyof typeof CARE] | null {
  return verdict.state === "outside" && check in CARE ? CARE[check as keyof typeof CARE] : null;
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
