import type { CheckKind, CheckResult, Conformity, Quantity } from "../backend/types";
import type { LengthUnit } from "../units/length";
import type { PlainKey } from "../words/catalogue";
import { lengthText, quantityText } from "./quantity";
import { TENSION_WORDS, VERDICT_WORDS } from "./words";
import { t } from "../words/words.svelte";

/** How a kind of check is told on every screen. */
export interface CheckWords {
  /** What the check is called. */
  name: string;
  /** The values that may stand for the whole result; the first that was measured does. */
  main: readonly string[];
  /** Which side of the limit is the wrong one; absent where the limit is no such number. */
  limit?: { wrong: "below" | "above"; words: PlainKey };
  verdict: Record<Conformity, PlainKey>;
}

const KEPT: Record<Conformity, PlainKey> = { within: "verdict.within", outside: "verdict.outside", undecided: "verdict.undecided" };

const CHECKS: Partial<Record<CheckKind, Omit<CheckWords, "name"> & { name: PlainKey }>> = {
  gap: {
    name: "check.gap",
    main: ["gap"],
    limit: { wrong: "below", words: "limit.gap" },
    verdict: VERDICT_WORDS,
  },
  turn: {
    name: "check.turn",
    main: ["radial_runout"],
    limit: { wrong: "above", words: "limit.turn" },
    verdict: { within: "verdict.turn-within", outside: "verdict.turn-outside", undecided: "verdict.undecided" },
  },
  play: {
    name: "check.play",
    main: ["radial_play"],
    limit: { wrong: "above", words: "limit.play" },
    verdict: { within: "verdict.play-within", outside: "verdict.play-outside", undecided: "verdict.undecided" },
  },
  alignment: {
    name: "check.alignment",
    main: ["misalignment"],
    limit: { wrong: "above", words: "limit.alignment" },
    verdict: { within: "verdict.alignment-within", outside: "verdict.alignment-outside", undecided: "verdict.undecided" },
  },
  part: {
    name: "check.part",
    main: ["outer_diameter", "width", "inner_diameter"],
    verdict: { within: "verdict.part-within", outside: "verdict.part-outside", undecided: "verdict.undecided" },
  },
  camera: {
    name: "check.camera",
    main: ["rms_px"],
    verdict: { within: "verdict.camera-within", outside: "verdict.camera-outside", undecided: "verdict.camera-undecided" },
  },
  tension: { name: "check.tension", main: ["tension"], verdict: TENSION_WORDS },
};

/** The words of a kind of check; of one that this page does not know, general ones. */
export function checkWords(kind: CheckKind): CheckWords {
  const name = kind.charAt(0).toUpperCase() + kind.slice(1);
  const known = CHECKS[kind];
  return known ? { ...known, name: t(known.name) } : { name, main: [kind], verdict: KEPT };
}

/** What the values of results are called. */
const VALUES: Record<string, PlainKey> = {
  gap: "value.gap",
  gap_over_turn: "value.gap-over-turn",
  gap_by_trials: "value.gap-by-trials",
  radial_runout_by_trials: "value.radial-runout-by-trials",
  axial_runout_by_trials: "value.axial-runout-by-trials",
  rim_diameter_by_trials: "value.rim-diameter-by-trials",
  axis_tilt: "value.axis-tilt",
  radial_runout: "value.radial-runout",
  axial_runout: "value.axial-runout",
  eccentricity: "value.eccentricity",
  eccentricity_direction: "value.eccentricity-direction",
  axial_high_direction: "value.axial-high",
  rim_diameter: "common.rim-diameter",
  radial_play: "value.radial-play",
  axial_play: "value.axial-play",
  tilt_play: "value.tilt-play",
  misalignment: "value.misalignment",
  belt_offset: "value.belt-offset",
  axis_angle: "value.axis-angle",
  axis_spread: "value.axis-spread",
  axis_twist: "value.axis-twist",
  pulley_distance: "value.pulley-distance",
  driven_width: "value.driven-width",
  motor_width: "value.motor-width",
  outer_diameter: "value.outer-diameter",
  inner_diameter: "value.inner-diameter",
  width: "value.width",
  centre_offset: "value.centre-offset",
  height: "value.height",
  rms_px: "value.rms-px",
  fx: "value.fx",
  fy: "value.fy",
  cx: "value.cx",
  cy: "value.cy",
  k1: "value.k1",
  k2: "value.k2",
  p1: "value.p1",
  p2: "value.p2",
  verdict: "value.verdict",
};

export function valueName(name: string): string {
  const known = VALUES[name];
  return known ? t(known) : (name.charAt(0).toUpperCase() + name.slice(1)).replaceAll("_", " ");
}

/** Values that stand the other way round when they are below zero, and what they are called then. */
const THE_OTHER_WAY: Record<string, PlainKey> = {
  belt_offset: "value.belt-offset-inboard",
};

/** A value as it is shown: its name, and the quantity without a sign where the name says which way it goes. */
export function namedValue({ name, quantity }: { name: string; quantity: Quantity }): { name: string; quantity: Quantity } {
  const other = quantity.value < 0 ? THE_OTHER_WAY[name] : undefined;
  return other ? { name: t(other), quantity: { ...quantity, value: -quantity.value } } : { name: valueName(name), quantity };
}

/** A single value of a result by its name; absent when the check gave none. */
export function quantityOf(result: CheckResult, name: string): Quantity | null {
  const value = result.values[name];
  return value && !Array.isArray(value) ? value : null;
}

/** The number that stands for a result. */
export function mainOf(result: CheckResult): { name: string; quantity: Quantity } | null {
  for (const name of checkWords(result.check).main) {
    const quantity = quantityOf(result, name);
    if (quantity) return { name, quantity };
  }
  return null;
}

/** The other numbers of a result, in the order in which they are named here. */
export function othersOf(result: CheckResult): { name: string; quantity: Quantity }[] {
  const main = mainOf(result)?.name;
  const order = Object.keys(VALUES);
  const place = (name: string): number => (order.includes(name) ? order.indexOf(name) : order.length);
  return Object.keys(result.values)
    .filter((name) => name !== main)
    .sort((a, b) => place(a) - place(b))
    .flatMap((name) => {
      const quantity = quantityOf(result, name);
      return quantity ? [{ name, quantity }] : [];
    });
}

/** A quantity in words: a length in the unit asked for, degrees with their sign, anything else in its own unit. */
export function told(quantity: Quantity, unit: LengthUnit): string {
  if (quantity.unit === "mm") return lengthText(quantity.value, quantity.u95, unit);
  return quantityText(quantity);
}
