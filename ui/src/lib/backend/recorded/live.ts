import type { Look, LookRequest, Trouble } from "../types";

/** What is told one after the other, each for a while: a camera that is brought into place. */
const STORY: (Trouble | "same" | "moving")[] = [
  { code: "no-target", wanted: "mount-card" },
  { code: "too-far", cell_px: 1.9, limit_px: 2.5 },
  { code: "blurred", blur_px: 2.2, limit_px: 1.4 },
  { code: "glare", target: "hub-ring", share: 0.4 },
  "moving",
  "same",
];
/** So long each, ms. */
const EACH_MS = 800;
const SECTORS = 8;

let begun = -Infinity;

/** A look as the workshop tells it; the story begins anew after a rest. */
export function recordedLook({ check, width, height, photo_ids }: LookRequest): Look {
  const now = performance.now();
  if (now - begun > EACH_MS * STORY.length) begun = now;
  const chapter = STORY[Math.floor((now - begun) / EACH_MS)] ?? "same";
  const trouble = typeof chapter === "object" ? chapter : null;
  const turn = check === "turn";
  const x = (share: number): number => share * width;
  const y = (share: number): number => share * height;
  const card: [number, number][] = [[x(0.3), y(0.62)], [x(0.68), y(0.6)], [x(0.7), y(0.82)], [x(0.31), y(0.85)]];
  const idle = chapter === "moving" ? { is: "moving" as const } : turn ? { is: "same-angle" as const } : { is: "same-side" as const, way: "left" as const };
  return {
    drawn: trouble?.code === "no-target" ? [] : [{ what: "target", points: card }],
    troubles: trouble ? [trouble] : [],
    judged: {
      take: false,
      standing: trouble ? { is: "troubled" } : idle,
      covered: turn ? Array.from({ length: SECTORS }, (_, part) => part < photo_ids.length) : [],
      taken: photo_ids.length,
      enough: turn ? SECTORS : 3,
    },
    ...(turn ? { wheel_angle: 112 } : {}),
  };
}
