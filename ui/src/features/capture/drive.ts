import type { Drive, JobDrive } from "../../lib/backend";
import { readNumber } from "../../lib/units/length";
import { numeral, t } from "../../lib/words/words.svelte";

/** The drive's sizes as typed in the check; an empty chamfer means that nobody knows it. */
export interface DriveEntry {
  rimDiameter: string;
  mountChamfer: string;
  rimChamfer: string;
  minimumGap: string;
}

export function driveEntry(drive: Drive): DriveEntry {
  return {
    rimDiameter: numeral(drive.rim_diameter),
    mountChamfer: drive.mount_chamfer === null ? "" : numeral(drive.mount_chamfer),
    rimChamfer: drive.rim_chamfer === null ? "" : numeral(drive.rim_chamfer),
    minimumGap: numeral(drive.minimum_gap),
  };
}

/** What is wrong with a typed size, or nothing. `mayBeEmpty` is for sizes that nobody has to know. */
export function sizeProblem(text: string, low: number, high: number, mayBeEmpty = false, unit = "mm"): string | null {
  if (text.trim() === "") return mayBeEmpty ? null : t("sizes.needed");
  const value = readNumber(text);
  if (value === null) return t("sizes.not-a-number");
  if (value < low || value > high) return t("sizes.between", { low, high, unit });
  return null;
}

/** Limits of each size, mm: wide enough for any board, narrow enough to catch a slip of the finger. */
export const SIZE_RANGE = {
  rimDiameter: [20, 300],
  chamfer: [0, 3],
  minimumGap: [0, 10],
} as const;

export function driveProblems(entry: DriveEntry): Partial<Record<keyof DriveEntry, string>> {
  const problems: Partial<Record<keyof DriveEntry, string>> = {};
  const note = (key: keyof DriveEntry, problem: string | null): void => {
    if (problem) problems[key] = problem;
  };
  note("rimDiameter", sizeProblem(entry.rimDiameter, ...SIZE_RANGE.rimDiameter));
  note("mountChamfer", sizeProblem(entry.mountChamfer, ...SIZE_RANGE.chamfer, true));
  note("rimChamfer", sizeProblem(entry.rimChamfer, ...SIZE_RANGE.chamfer, true));
  note("minimumGap", sizeProblem(entry.minimumGap, ...SIZE_RANGE.minimumGap));
  return problems;
}

/** The drive as the job carries it; a size that is not known is left out. */
export function jobDrive(entry: DriveEntry): JobDrive {
  const known = (text: string): number | undefined => readNumber(text) ?? undefined;
  return {
    rim_diameter: known(entry.rimDiameter),
    mount_chamfer: known(entry.mountChamfer),
    rim_chamfer: known(entry.rimChamfer),
    minimum_gap: known(entry.minimumGap),
  };
}
