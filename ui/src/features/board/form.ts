import type { Board, CornerState, DriveDescription, Located } from "../../lib/backend";
import { readNumber } from "../../lib/units/length";
import { driveEntry, driveProblems, jobDrive, sizeProblem, type DriveEntry } from "../capture/drive";
import { numeral, t } from "../../lib/words/words.svelte";

/** What is fitted at a corner, as typed. */
export interface CornerEntry {
  label: string;
  thickness: string;
  offset: string;
  offsetU95: string;
}

/** A board as typed. */
export interface BoardEntry {
  name: string;
  owner: string;
  notes: string;
  sizes: DriveEntry;
  located: Located;
  slideIn: string;
  slideOut: string;
  sameEverywhere: boolean;
  stackLimit: string;
  /** Described on a page of its own, and kept here as it is. */
  description: DriveDescription | null;
  corners: [CornerEntry, CornerEntry];
}

/** A board that nobody has described yet. */
export const NEW_BOARD: Board = {
  id: "",
  name: "",
  owner: "",
  notes: "",
  drive: {
    rim_diameter: 99,
    mount_chamfer: null,
    rim_chamfer: null,
    located: "wheel",
    minimum_gap: 0.5,
    motor_slide: [-0.5, 0.5],
    same_spacer_everywhere: true,
    stack_limit: 1,
  },
  corners: [
    { spacer_label: "", spacer_thickness: 0, belt_offset: 0, belt_offset_u95: 1 },
    { spacer_label: "", spacer_thickness: 0, belt_offset: 0, belt_offset_u95: 1 },
  ],
};

function cornerEntry(corner: CornerState): CornerEntry {
  return {
    label: corner.spacer_label,
    thickness: numeral(corner.spacer_thickness),
    offset: numeral(corner.belt_offset),
    offsetU95: numeral(corner.belt_offset_u95),
  };
}

export function boardEntry(board: Board): BoardEntry {
  const { drive } = board;
  return {
    name: board.name,
    owner: board.owner,
    notes: board.notes,
    sizes: driveEntry(drive),
    located: drive.located,
    slideIn: numeral(-drive.motor_slide[0]),
    slideOut: numeral(drive.motor_slide[1]),
    sameEverywhere: drive.same_spacer_everywhere,
    stackLimit: numeral(drive.stack_limit),
    description: drive.description ?? null,
    corners: [cornerEntry(board.corners[0]), cornerEntry(board.corners[1])],
  };
}

/** What is wrong, by field; empty when the board can be kept. */
export function boardProblems(entry: BoardEntry): Record<string, string> {
  const found: Record<string, string | null> = {
    ...driveProblems(entry.sizes),
    name: entry.name.trim() === "" ? t("board.name-wanted") : null,
    slideIn: sizeProblem(entry.slideIn, 0, 20),
    slideOut: sizeProblem(entry.slideOut, 0, 20),
    stackLimit: /^[1-4]$/.test(entry.stackLimit.trim()) ? null : t("board.one-to-four"),
  };
  entry.corners.forEach((corner, index) => {
    found[`thickness${index}`] = sizeProblem(corner.thickness, 0, 60);
    found[`offset${index}`] = sizeProblem(corner.offset, -50, 50);
    found[`offsetU95${index}`] = sizeProblem(corner.offsetU95, 0, 50);
  });
  return Object.fromEntries(Object.entries(found).filter((pair): pair is [string, string] => Boolean(pair[1])));
}

function cornerOf(entry: CornerEntry): CornerState {
  const number = (text: string): number => readNumber(text) ?? 0;
  return {
    spacer_label: entry.label.trim(),
    spacer_thickness: number(entry.thickness),
    belt_offset: number(entry.offset),
    belt_offset_u95: number(entry.offsetU95),
  };
}

/** The board that an entry without problems describes. */
export function boardOf(id: string, entry: BoardEntry): Board {
  const sizes = jobDrive(entry.sizes);
  return {
    id,
    name: entry.name.trim(),
    owner: entry.owner.trim(),
    notes: entry.notes.trim(),
    drive: {
      rim_diameter: sizes.rim_diameter ?? NEW_BOARD.drive.rim_diameter,
      mount_chamfer: sizes.mount_chamfer ?? null,
      rim_chamfer: sizes.rim_chamfer ?? null,
      minimum_gap: sizes.minimum_gap ?? NEW_BOARD.drive.minimum_gap,
      located: entry.located,
      // Zero has a sign in floating point, and a minus nobody typed looks odd.
      motor_slide: [0 - (readNumber(entry.slideIn) ?? 0), readNumber(entry.slideOut) ?? 0],
      same_spacer_everywhere: entry.sameEverywhere,
      stack_limit: Number(entry.stackLimit),
      ...(entry.description ? { description: entry.description } : {}),
    },
    corners: [cornerOf(entry.corners[0]), cornerOf(entry.corners[1])],
  };
}
