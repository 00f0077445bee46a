import { words } from "../words/words.svelte";

/** The date and time of an RFC 3339 stamp as the reader's own clock writes it. */
export function moment(stamp: string): string {
  const date = new Date(stamp);
  if (Number.isNaN(date.getTime())) return stamp;
  return date.toLocaleString(words.locale, { day: "numeric", month: "short", year: "numeric", hour: "2-digit", minute: "2-digit" });
}

/** The day alone. */
export function day(stamp: string): string {
  const date = new Date(stamp);
  if (Number.isNaN(date.getTime())) return stamp;
  return date.toLocaleDateString(words.locale, { day: "numeric", month: "short", year: "numeric" });
}
