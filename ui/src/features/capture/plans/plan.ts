import type { Board, CheckKind, JobDrive, JobTargets, PhotoAdded } from "../../../lib/backend";
import type { PlainKey } from "../../../lib/words/catalogue";
import type { CurveName } from "../../marking/marks";

/** Checks that are measured from photos. */
export type PhotoKind = Extract<CheckKind, "gap" | "turn" | "play" | "alignment" | "part" | "camera">;

/** The steps that a check may have, in order. */
export const STEPS = ["ready", "photos", "edges", "sizes", "answer"] as const;
export type Step = (typeof STEPS)[number];

/** The drawings of the first step. */
export type Picture =
  | "print"
  | "stick"
  | "shoot"
  | "ring-print"
  | "ring-stick"
  | "turn-shoot"
  | "play-shoot"
  | "align-lay"
  | "align-shoot"
  | "sheet-print"
  | "part-lay"
  | "part-shoot"
  | "camera-shoot";

/** One thing to do before the first photo. */
export interface ReadyCard {
  picture: Picture;
  title: PlainKey;
  text: PlainKey;
  /** Whether the way to the print screen stands below it. */
  print?: boolean;
}

/** The sizes of a job's drive that are typed in: those that are plain numbers. */
export type SizeKey = Exclude<
  { [key in keyof JobDrive]-?: NonNullable<JobDrive[key]> extends number ? key : never }[keyof JobDrive],
  "mark_screw_angle"
>;

/** A size to be typed. */
export interface SizeField {
  key: SizeKey;
  label: PlainKey;
  help?: PlainKey;
  /** `mm` when it says nothing. */
  unit?: "mm" | "degrees";
  /** Limits in that unit: wide enough for anything real, narrow enough to catch a slip of the finger. */
  range: readonly [number, number];
  mayBeEmpty: boolean;
  /** What the board's description says; `null` when it does not. */
  start: (board: Board | null) => number | null;
}

/** A height to be stated when there is one view only. */
export interface HeightField {
  /** The mark's name, or `all`. */
  mark: string;
  label: PlainKey;
  help: PlainKey;
  range: readonly [number, number];
}

/** What can be measured in one check, where there is a choice. */
export interface Choice {
  id: string;
  label: PlainKey;
  curves: readonly CurveName[];
}

/** One kind of check, from what is printed to what is asked of its numbers. */
export interface CheckPlan {
  kind: PhotoKind;
  title: PlainKey;
  /** The steps that it has. */
  steps: readonly Step[];
  ready: readonly ReadyCard[];
  /** What the button under the first step says. */
  begin: PlainKey;
  cautions: readonly PlainKey[];
  /** Printed targets that each photo should show. */
  shows: readonly string[];
  /** Those that the job names. */
  targets: (photos: readonly PhotoAdded[]) => JobTargets | undefined;
  /** Fewest photos that can be measured at all. */
  fewest: number;
  /** Says how many photos are still wanted, and why. */
  wanted: (photos: readonly PhotoAdded[]) => string;
  /** What must be marked, unless `choices` leave it open. */
  curves: readonly CurveName[];
  /** What may be marked besides. */
  optional: readonly CurveName[];
  choices: readonly Choice[];
  /** What the marking step says below the photos. */
  marksHelp: PlainKey | null;
  fields: readonly SizeField[];
  fieldsTitle: PlainKey | null;
  fieldsHelp: PlainKey | null;
  heights: readonly HeightField[];
}

/** Where hands are near the drive. */
export const DRIVE_CAUTIONS: readonly PlainKey[] = [
  "caution.power-off",
  "caution.fingers",
  "caution.stand",
];

const seen = (photos: readonly PhotoAdded[], target: string): boolean =>
  photos.some((photo) => photo.found.some((found) => found.name === target));

/** The targets that all photos of a wheel's check show. */
export const CARD_AND_RING: JobTargets = { fixed: "mount-card", turning: "hub-ring" };

export function gapTargets(photos: readonly PhotoAdded[]): JobTargets {
  return { fixed: "mount-card", turning: seen(photos, "hub-ring") ? "hub-ring" : undefined };
}

export const RIM_DIAMETER: SizeField = {
  key: "rim_diameter",
  label: "common.rim-diameter",
  help: "plan.rim-help",
  range: [20, 300],
  mayBeEmpty: false,
  start: (board) => board?.drive.rim_diameter ?? null,
};

export const RIM_CHAMFER: SizeField = {
  key: "rim_chamfer",
  label: "common.rim-chamfer",
  help: "common.empty-when-unknown",
  range: [0, 3],
  mayBeEmpty: true,
  start: (board) => board?.drive.rim_chamfer ?? null,
};
