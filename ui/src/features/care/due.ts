import type { Due, DueState } from "../../lib/backend";
import { day } from "../../lib/format/moment";
import { fixed } from "../../lib/format/quantity";

/** How pressing a check is, in words. */
export const DUE_WORDS: Record<DueState, string> = {
  due: "Due now",
  "never-done": "Never written down",
  soon: "Due soon",
  later: "Later",
  "on-occasion": "When it comes up",
};

/** When a check falls due, by days, by kilometres, or both; empty where neither is known. */
export function dueText(due: Due): string {
  const parts: string[] = [];
  if (due.day !== null) {
    const left = due.days_left;
    const away = left === null ? "" : left < 0 ? `, ${-left} days ago` : left === 0 ? ", today" : `, in ${left} days`;
    parts.push(`${day(due.day)}${away}`);
  }
  if (due.odometer_km !== null) {
    const left = due.km_left;
    const away = left === null ? "" : left < 0 ? `, ${fixed(-left, 0)} km ago` : `, in ${fixed(left, 0)} km`;
    parts.push(`at ${fixed(due.odometer_km, 0)} km${away}`);
  }
  return parts.join(" or ");
}
