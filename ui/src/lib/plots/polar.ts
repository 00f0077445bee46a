import { niceLinear, type Scale } from "./scale";

/** Radius of the mm scale's end on the plot. */
export const SCALE_END = 62;

/** Where the pulley's screws are. */
export interface Screws {
  /** How many; 1 when only the first one's place is known. */
  count: number;
  /** Direction of screw 1 in the hub ring's frame, degrees counter-clockwise. */
  first: number;
}

/** From the plot's middle outwards, mm to plot units, far enough for every value. */
export function radialScale(values: number[]): Scale {
  const most = Math.max(0.01, ...values.filter(Number.isFinite));
  return niceLinear([0, most], [0, SCALE_END], 3);
}

/**
 * Turns a direction of the hub ring's frame (degrees counter-clockwise from its x axis, seen from its printed side) to how
 * the plot draws it: radians clockwise from the top. Screw 1 is drawn at the top; where it is not known, the ring as printed.
 */
export function drawnAngle(direction: number, screws: Screws | null): number {
  return (((screws ? screws.first : 90) - direction) * Math.PI) / 180;
}

/** The screws as drawn, radians clockwise from the top: evenly around, numbered clockwise. */
export function screwAngles(screws: Screws): { name: number; angle: number }[] {
  return Array.from({ length: screws.count }, (_, index) => ({ name: index + 1, angle: (2 * Math.PI * index) / screws.count }));
}
