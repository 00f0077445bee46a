import type { Due, DueState } from "../../lib/backend";
import { day } from "../../lib/format/moment";
import { fixed } from "../../lib/format/quantity";
import type { PlainKey } from "../../lib/words/catalogue";
import { t } from "../../lib/words/words.svelte";

/** How pressing a check is, in words. */
export const DUE_WORDS: Record<DueState, PlainKey> = {
  due: "due.due",
  "never-done": "due.never-done",
  soon: "due.soon",
  later: "due.later",
  "on-occasion": "due.on-occasion",
};

/** When a check falls due, by days, by kilometres, or both; empty where neither is known. */
export function dueText(due: Due): string {
  const byDay = due.day === null ? null : dayText(day(due.day), due.days_left);
  const byKm = due.odometer_km === null ? null : kmText(due.odometer_km, due.km_left);
  return byDay !== null && byKm !== null ? t("due.or", { day: byDay, km: byKm }) : (byDay ?? byKm ?? "");
}

function dayText(when: string, left: number | null): string {
  if (left === null) return when;
  if (left === 0) return t("due.day-today", { day: when });
  return t(left < 0 ? "due.day-ago" : "due.day-in", { day: when, count: Math.abs(left) });
}

function kmText(at: number, left: number | null): string {
  const km = fixed(at, 0);
  if (left === null) return t("due.at-km", { km });
  return t(left < 0 ? "due.km-ago" : "due.km-in", { km, left: fixed(Math.abs(left), 0) });
}
