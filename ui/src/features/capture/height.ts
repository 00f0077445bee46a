import type { Height } from "../../lib/backend";
import { readNumber } from "../../lib/units/length";
import { sizeProblem } from "./drive";

/** Heights of both edges above the card's face, towards the camera, as typed, mm. */
export interface HeightEntry {
  stated: boolean;
  mount: string;
  rim: string;
  u95: string;
}

/** No edge of a drive stands further from its card than this, mm. */
const RANGE: [number, number] = [-100, 100];

export function heightProblems(entry: HeightEntry): Partial<Record<"mount" | "rim" | "u95", string>> {
  const problems: Partial<Record<"mount" | "rim" | "u95", string>> = {};
  const mount = sizeProblem(entry.mount, ...RANGE);
  const rim = sizeProblem(entry.rim, ...RANGE);
  const u95 = sizeProblem(entry.u95, 0.01, 20);
  if (mount) problems.mount = mount;
  if (rim) problems.rim = rim;
  if (u95) problems.u95 = u95;
  return problems;
}

export function jobHeight(entry: HeightEntry): Height | undefined {
  const mount = readNumber(entry.mount);
  const rim = readNumber(entry.rim);
  const u95 = readNumber(entry.u95);
  if (mount === null || rim === null || u95 === null) return undefined;
  return { mount_edge: { value: mount, u95 }, rim_edge: { value: rim, u95 } };
}
