import { ALIGNMENT } from "./alignment";
import { CAMERA } from "./camera";
import { GAP } from "./gap";
import { PART } from "./part";
import { PLAY } from "./play";
import type { CheckPlan, PhotoKind } from "./plan";
import { TURN } from "./turn";

/** Every check that is measured from photos. A new kind is a file beside these and a line here. */
export const PLANS: Record<PhotoKind, CheckPlan> = {
  gap: GAP,
  turn: TURN,
  play: PLAY,
  alignment: ALIGNMENT,
  part: PART,
  camera: CAMERA,
};

export * from "./plan";
