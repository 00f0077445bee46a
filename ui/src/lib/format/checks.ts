import type { CheckKind, CheckResult, Conformity, Quantity } from "../backend/types";
import type { LengthUnit } from "../units/length";
import { lengthText, quantityText } from "./quantity";
import { TENSION_WORDS, VERDICT_WORDS } from "./words";

/** How a kind of check is told on every screen. */
export interface CheckWords {
  /** What the check is called. */
  name: string;
  /** The values that may stand for the whole result; the first that was measured does. */
  main: readonly string[];
  /** Which side of the limit is the wrong one; absent where the limit is no such number. */
  limit?: { wrong: "below" | "above"; words: string };
  verdict: Record<Conformity, string>;
}

const KEPT: Record<Conformity, string> = { within: "Within the limit", outside: "Over the limit", undecided: "Not sure yet" };

const CHECKS: Partial<Record<CheckKind, CheckWords>> = {
  gap: {
    name: "Gap",
    main: ["gap"],
    limit: { wrong: "below", words: "less than the smallest allowed gap" },
    verdict: VERDICT_WORDS,
  },
  turn: {
    name: "Run-out",
    main: ["radial_runout"],
    limit: { wrong: "above", words: "more than the largest run-out allowed" },
    verdict: { within: "Runs true", outside: "Off centre", undecided: "Not sure yet" },
  },
  play: {
    name: "Bearing play",
    main: ["radial_play"],
    limit: { wrong: "above", words: "more than the largest play allowed" },
    verdict: { within: "Play is small", outside: "Too much play", undecided: "Not sure yet" },
  },
  alignment: {
    name: "Belt alignment",
    main: ["misalignment"],
    limit: { wrong: "above", words: "more than the largest misalignment allowed" },
    verdict: { within: "Runs straight", outside: "Out of line", undecided: "Not sure yet" },
  },
  part: {
    name: "Loose part",
    main: ["outer_diameter", "width", "inner_diameter"],
    verdict: { within: "Good", outside: "Out of its limits", undecided: "Not sure yet" },
  },
  camera: {
    name: "Camera",
    main: ["rms_px"],
    verdict: { within: "Good profile", outside: "Does not fit", undecided: "Could be better" },
  },
  tension: { name: "Belt tension", main: ["tension"], verdict: TENSION_WORDS },
};

/** The words of a kind of check; of one that this page does not know, general ones. */
export function checkWords(kind: CheckKind): CheckWords {
  const name = kind.charAt(0).toUpperCase() + kind.slice(1);
  return CHECKS[kind] ?? { name, main: [kind], verdict: KEPT };
}

/** What the values of results are called. */
const VALUES: Record<string, string> = {
  gap: "Gap between mount and rim",
  gap_over_turn: "Smallest gap over a turn",
  axis_tilt: "Tilt of the axis",
  radial_runout: "Radial run-out",
  axial_runout: "Axial run-out at the rim",
  eccentricity: "Off centre by",
  eccentricity_direction: "Towards, on the ring",
  axial_high_direction: "Face stands out at, on the ring",
  rim_diameter: "Rim diameter",
  radial_play: "Radial play",
  axial_play: "Axial play",
  tilt_play: "Tilting play",
  misalignment: "Offset and angle together",
  belt_offset: "Wheel pulley further outboard by",
  axis_angle: "Angle between the axes",
  axis_spread: "Axes spread apart by",
  axis_twist: "Motor axis twisted by",
  pulley_distance: "Distance of the pulleys",
  driven_width: "Width of the wheel pulley",
  motor_width: "Width of the motor pulley",
  outer_diameter: "Outer diameter",
  inner_diameter: "Bore",
  width: "Width",
  centre_offset: "Bore off centre by",
  height: "Height of the upper face",
  rms_px: "Corners miss one lens by",
  fx: "Focal length across",
  fy: "Focal length along",
  cx: "Middle across",
  cy: "Middle along",
  k1: "Distortion k1",
  k2: "Distortion k2",
  p1: "Distortion p1",
  p2: "Distortion p2",
};

export function valueName(name: string): string {
  return VALUES[name] ?? (name.charAt(0).toUpperCase() + name.slice(1)).replaceAll("_", " ");
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
  return quantityText(quantity).replace(/ deg$/, "°");
}
