import type { Corner, HistoryEntry } from "../../lib/backend";

/** The newest saved gap check of a corner; the history comes newest first. */
export function newestOf(history: HistoryEntry[], corner: Corner): HistoryEntry | null {
  return history.find((entry) => entry.corner === corner && entry.result.check === "gap") ?? null;
}
