import type { TorqueLine } from "../../lib/backend";
import { fixed } from "../../lib/format/quantity";

/** A torque in newton metres; small ones with two decimals. */
export function torqueText(newtonMetres: number): string {
  return `${fixed(newtonMetres, newtonMetres < 10 ? 2 : 1)} N m`;
}

/** A line's value in the three units, each as text; `null` where no value is known. */
export function inUnits(line: TorqueLine): { newtonMetres: string; inchPounds: string; footPounds: string } | null {
  if (!line.units) return null;
  return {
    newtonMetres: fixed(line.units.newton_metres, 2),
    inchPounds: fixed(line.units.inch_pounds, 1),
    footPounds: fixed(line.units.foot_pounds, 2),
  };
}
