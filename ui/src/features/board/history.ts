import type { CheckKind, Corner, HistoryEntry } from "../../lib/backend";

/** The newest saved check of a kind at a corner; the history comes newest first. */
export function newestOf(history: HistoryEntry[], corner: Corner, kind: CheckKind = "gap"): HistoryEntry | null {
  return history.find((entry) => entry.corner === corner && entry.result.check === kind) ?? null;
}
