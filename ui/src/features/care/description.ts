import type { Corner, DriveDescription, Flanges, ScrewSize } from "../../lib/backend";
import { readNumber } from "../../lib/units/length";
import type { PlainKey } from "../../lib/words/catalogue";
import { numeral, t } from "../../lib/words/words.svelte";

/** Fields that are a number, and how an empty one is taken. */
export const NUMBERS = {
  motor_teeth: "count",
  wheel_teeth: "count",
  pitch: "needed",
  belt_teeth: "count",
  belt_width: "needed",
  centre_distance: "optional",
  pulley_width: "needed",
  pulley_screws: "count",
  screw_hole: "optional",
  register_clearance: "optional",
  screw_1_angle: "optional",
  eccentricity_limit: "needed",
  axial_runout_limit: "optional",
  alignment_limit: "needed",
  wheel_diameter: "needed",
  wheel_mass: "needed",
  pulley_mass: "needed",
  belt_stiffness: "optional",
} as const satisfies Partial<Record<keyof DriveDescription, "count" | "needed" | "optional">>;
export type NumberField = keyof typeof NUMBERS;
const FIELDS = Object.keys(NUMBERS) as NumberField[];

export const FLANGES: Record<Flanges, PlainKey> = {
  none: "drive.flange-none",
  inner: "drive.flange-inner",
  outer: "drive.flange-outer",
  both: "drive.flange-both",
};
export const SCREW_SIZES: readonly ScrewSize[] = ["M3", "M4", "M5", "M6", "M8"];

/** A torque of the board's maker, as typed. */
export interface TorqueEntry {
  torque: string;
  source: string;
}

/** Another clearance, as typed. */
export interface ClearanceEntry {
  name: string;
  corner: Corner;
  value: string;
  u95: string;
  spacer: string;
  perSpacer: "1" | "0" | "-1";
  minimum: string;
}

/** A description as typed. */
export interface DescriptionEntry {
  numbers: Record<NumberField, string>;
  flanges: Flanges;
  screwSize: ScrewSize;
  /** By screw class; empty where the maker gives none. */
  torques: Record<string, TorqueEntry>;
  clearances: ClearanceEntry[];
}

export const NEW_CLEARANCE: ClearanceEntry = { name: "", corner: "left", value: "", u95: "0.2", spacer: "", perSpacer: "1", minimum: "" };

/** Fills a form; `classes` are the screw classes of the torque table. */
export function descriptionEntry(description: DriveDescription, classes: string[]): DescriptionEntry {
  const typed = (value: number | null): string => (value === null ? "" : numeral(value));
  const own = (name: string): TorqueEntry => {
    const given = description.torques.find((torque) => torque.class === name);
    return given ? { torque: numeral(given.torque), source: given.source } : { torque: "", source: "" };
  };
  // A class that the table no longer knows must not vanish from the description.
  const known = [...new Set([...classes, ...description.torques.map((torque) => torque.class)])];
  return {
    numbers: Object.fromEntries(FIELDS.map((field) => [field, typed(description[field])])) as Record<NumberField, string>,
    flanges: description.flanges,
    screwSize: description.screw_size,
    torques: Object.fromEntries(known.map((name) => [name, own(name)])),
    clearances: description.clearances.map((clearance) => ({
      name: clearance.name,
      corner: clearance.corner,
      value: numeral(clearance.value),
      u95: numeral(clearance.u95),
      spacer: numeral(clearance.spacer_thickness),
      perSpacer: clearance.per_spacer > 0 ? "1" : clearance.per_spacer < 0 ? "-1" : "0",
      minimum: numeral(clearance.minimum),
    })),
  };
}

function numberProblem(text: string, kind: (typeof NUMBERS)[NumberField]): string | null {
  if (text.trim() === "") return kind === "optional" ? null : t("common.needed");
  const value = readNumber(text);
  if (value === null) return t("drive.a-number");
  return kind === "count" && !Number.isInteger(value) ? t("common.whole-number") : null;
}

/** What cannot be read, by field. Whether it holds together, the workshop says. */
export function descriptionProblems(entry: DescriptionEntry): Record<string, string> {
  const found: Record<string, string | null> = {};
  for (const field of FIELDS) found[field] = numberProblem(entry.numbers[field], NUMBERS[field]);
  for (const [name, { torque, source }] of Object.entries(entry.torques)) {
    found[`torque ${name}`] = numberProblem(torque, "optional");
    if (torque.trim() !== "" && source.trim() === "") found[`source ${name}`] = t("drive.say-where");
  }
  entry.clearances.forEach((clearance, index) => {
    if (clearance.name.trim() === "") found[`name ${index}`] = t("drive.name-it");
    for (const part of ["value", "u95", "spacer", "minimum"] as const) {
      found[`${part} ${index}`] = numberProblem(clearance[part], "needed");
    }
  });
  return Object.fromEntries(Object.entries(found).filter((pair): pair is [string, string] => pair[1] !== null));
}

/** The description that an entry without problems gives. */
export function descriptionOf(entry: DescriptionEntry): DriveDescription {
  const number = (text: string): number => readNumber(text) ?? 0;
  const numbers = Object.fromEntries(
    FIELDS.map((field) => {
      const text = entry.numbers[field];
      return [field, NUMBERS[field] === "optional" ? readNumber(text) : number(text)];
    }),
  ) as Pick<DriveDescription, NumberField>;
  return {
    ...numbers,
    flanges: entry.flanges,
    screw_size: entry.screwSize,
    torques: Object.entries(entry.torques)
      .filter(([, own]) => own.torque.trim() !== "")
      .map(([name, own]) => ({ class: name, torque: number(own.torque), source: own.source.trim() })),
    clearances: entry.clearances.map((clearance) => ({
      name: clearance.name.trim(),
      corner: clearance.corner,
      value: number(clearance.value),
      u95: number(clearance.u95),
      spacer_thickness: number(clearance.spacer),
      per_spacer: Number(clearance.perSpacer),
      minimum: number(clearance.minimum),
    })),
  };
}
