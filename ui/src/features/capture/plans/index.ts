import { CAMERA } from "./camera";
import { GAP } from "./gap";
import { PART } from "./part";
import { PLAY } from "./play";
import type { CheckPlan, PhotoKind } from "./plan";
import { TURN } from "./turn";

/** Every check that is measured from photos. A new kind is a file beside these and a line here. */
export const PLANS: Record<PhotoKind, CheckPlan> = { gap: GAP, turn: TURN, play: PLAY, part: PART, camera: CAMERA };

/** Those that are made at a corner of a board, in the order in which they are offered. */
export const CORNER_KINDS: readonly Exclude<PhotoKind, "camera">[] = ["gap", "turn", "play", "part"];

export * from "./plan";
