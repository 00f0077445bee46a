import type { CheckKind, Conformity, Corner, HistoryEntry } from "../backend/types";
import { checkWords, mainOf } from "../format/checks";
import { linear, niceLinear, type Scale } from "./scale";
import { t } from "../words/words.svelte";

/** One saved check as a point of a trend. */
export interface TrendPoint {
  id: string;
  /** When it was saved, ms. */
  at: number;
  value: number;
  u95: number;
  unit: string;
  state: Conformity;
  /** What was changed at the corner since the check before; empty when nothing was. */
  change: string;
}

/** The saved checks of a kind at a corner, oldest first. The history comes newest first. */
export function trendOf(history: readonly HistoryEntry[], corner: Corner, kind: CheckKind): TrendPoint[] {
  const points: TrendPoint[] = [];
  let before: HistoryEntry | null = null;
  for (const entry of history.filter((one) => one.corner === corner && one.result.check === kind).reverse()) {
    const main = mainOf(entry.result);
    if (!main) continue;
    const { value, u95, unit } = main.quantity;
    points.push({
      id: entry.id,
      at: new Date(entry.at).getTime(),
      value,
      u95,
      unit,
      state: entry.result.verdict.state,
      change: before ? changeBetween(before, entry) : "",
    });
    before = entry;
  }
  return points;
}

function changeBetween(before: HistoryEntry, now: HistoryEntry): string {
  const changes: string[] = [];
  const [then, fitted] = [before.fitted, now.fitted];
  if (then.spacer_label !== fitted.spacer_label || then.spacer_thickness !== fitted.spacer_thickness) {
    changes.push(fitted.spacer_label === "" ? t("trend.ring-changed") : t("trend.ring", { ring: fitted.spacer_label }));
  }
  // A belt is told from another by its mass; nothing else is written down of it.
  const [old, belt] = [before.job.belt?.mass_per_length.value, now.job.belt?.mass_per_length.value];
  if (old !== undefined && belt !== undefined && old !== belt) changes.push(t("trend.belt"));
  return changes.join(", ");
}

/** The kinds of checks that a board has a trend of, at either corner. */
export function trendKinds(history: readonly HistoryEntry[]): CheckKind[] {
  const kinds: CheckKind[] = ["gap", "turn", "play", "alignment", "tension"];
  return kinds.filter((kind) => (["left", "right"] as const).some((corner) => trendOf(history, corner, kind).length > 1));
}

/** The newest limit that the checks of a kind were judged by; none where it is no number on the same scale. */
export function trendLimit(history: readonly HistoryEntry[], kind: CheckKind): number | null {
  const newest = history.find((entry) => entry.result.check === kind);
  return newest && checkWords(kind).limit ? newest.result.verdict.limit : null;
}

const DAY_MS = 86_400_000;

/** From moments, ms, to plot units; checks of one day still stand apart. */
export function timeScale(points: readonly TrendPoint[], width: number): Scale {
  const times = points.map((point) => point.at);
  const [first, last] = [Math.min(...times), Math.max(...times)];
  const room = last === first ? DAY_MS : 0;
  return linear([first - room, last + room], [0, width]);
}

/** From values to plot units, upwards; it begins at nothing and holds every interval and the limit. */
export function valueScale(points: readonly TrendPoint[], limit: number | null, height: number): Scale {
  const top = Math.max(limit ?? 0, ...points.map((point) => point.value + point.u95));
  const bottom = Math.min(0, ...points.map((point) => point.value - point.u95));
  return niceLinear([bottom, top || 1], [height, 0], 4);
}
