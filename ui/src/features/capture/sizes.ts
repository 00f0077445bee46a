import type { Board, Height, JobDrive } from "../../lib/backend";
import { readNumber } from "../../lib/units/length";
import { sizeProblem } from "./drive";
import type { HeightField, SizeField, SizeKey } from "./plans";
import { numeral, t } from "../../lib/words/words.svelte";

/** The sizes of a check as typed, by their names in the job. */
export type SizeEntry = Partial<Record<SizeKey, string>>;

/** Heights above the card or sheet, towards the camera, as typed, mm, by mark. */
export interface HeightEntry {
  stated: boolean;
  values: Record<string, string>;
  u95: string;
}

/** What the board says of a check's sizes. */
export function sizeEntry(fields: readonly SizeField[], board: Board | null): SizeEntry {
  const started = fields.map((field) => [field.key, field.start(board)] as const);
  return Object.fromEntries(started.map(([key, value]) => [key, value === null ? "" : numeral(value)]));
}

/** The unit of a field, as it is written. */
export const unitName = (unit: SizeField["unit"]): string => (unit === "degrees" ? t("common.degrees") : (unit ?? "mm"));

/** What is wrong with the typed sizes; empty when nothing is. */
export function sizeProblems(fields: readonly SizeField[], entry: SizeEntry): Partial<Record<SizeKey, string>> {
  const problems: Partial<Record<SizeKey, string>> = {};
  for (const { key, range, mayBeEmpty, unit } of fields) {
    const problem = sizeProblem(entry[key] ?? "", ...range, mayBeEmpty, unitName(unit));
    if (problem) problems[key] = problem;
  }
  const alone = (key: SizeKey, other: SizeKey): boolean => Boolean(entry[key]?.trim()) && entry[other]?.trim() === "";
  if (alone("nominal", "tolerance")) problems.tolerance ??= t("sizes.say-tolerance");
  if (alone("tolerance", "nominal")) problems.nominal ??= t("sizes.say-nominal");
  return problems;
}

/** The drive as the job carries it; a size that is not known is left out. */
export function sizesOfJob(fields: readonly SizeField[], entry: SizeEntry): JobDrive | undefined {
  const known = fields.map(({ key }) => [key, readNumber(entry[key] ?? "")] as const).filter(([, value]) => value !== null);
  return known.length === 0 ? undefined : (Object.fromEntries(known) as JobDrive);
}

export function noHeights(fields: readonly HeightField[]): HeightEntry {
  return { stated: false, values: Object.fromEntries(fields.map((field) => [field.mark, ""])), u95: numeral(0.5) };
}

/** What is wrong with the heights, by mark and `u95`. */
export function heightProblems(fields: readonly HeightField[], entry: HeightEntry): Record<string, string> {
  const problems: Record<string, string> = {};
  for (const { mark, range } of fields) {
    const problem = sizeProblem(entry.values[mark] ?? "", ...range);
    if (problem) problems[mark] = problem;
  }
  const u95 = sizeProblem(entry.u95, 0.01, 20);
  if (u95) problems["u95"] = u95;
  return problems;
}

/** The heights as the job carries them; nothing while one is missing. */
export function heightsOfJob(fields: readonly HeightField[], entry: HeightEntry): Height | undefined {
  const u95 = readNumber(entry.u95);
  const values = fields.map(({ mark }) => [mark, readNumber(entry.values[mark] ?? "")] as const);
  if (u95 === null || values.length === 0 || values.some(([, value]) => value === null)) return undefined;
  return Object.fromEntries(values.map(([mark, value]) => [mark, { value: value ?? 0, u95 }]));
}
