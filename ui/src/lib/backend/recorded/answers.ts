import type { CheckResult, Conformity, MeasureRequest, PhotoUse, SpacerAdvice, SpacerStock } from "../types";
import recorded from "./gap.json";

/** The demo's drawer: the ring sizes in use (common practice, no source), as a calliper reads them. */
export const RECORDED_STOCK: SpacerStock[] = [
  { label: "26/64 in", thickness: 10.32, u95: 0.03, count: 4 },
  { label: "7/16 in", thickness: 11.11, u95: 0.03, count: 4 },
  { label: "31/64 in", thickness: 12.3, u95: 0.03, count: 4 },
  { label: "1/2 in", thickness: 12.7, u95: 0.03, count: 4 },
];

const NUMBERS: Record<"left" | "right", { value: number; u95: number; state: Conformity; text: string; probability: number }> = {
  left: {
    value: 0.347,
    u95: 0.062,
    state: "outside",
    text: "the gap is 0.35 mm, less than the 0.50 mm it must keep",
    probability: 0.0000007,
  },
  right: {
    value: 1.153,
    u95: 0.048,
    state: "within",
    text: "the gap of 1.15 mm keeps the 0.50 mm it must have",
    probability: 1,
  },
};

export function recordedResult(request: MeasureRequest): CheckResult {
  const { value, u95, state, text, probability } = NUMBERS[request.corner];
  const asked = request.job.photos.map((photo) => photo.file);
  const uses = (recorded.uses as PhotoUse[]).filter((use) => asked.includes(use.file));
  const others = asked
    .filter((file) => !uses.some((use) => use.file === file))
    .map((file) => ({ file, corners: 0, rms_px: 0, used: false, note: "no card found" }));
  return {
    check: "gap",
    values: { gap: { value, u95, unit: "mm" }, axis_tilt: { value: 0.12, u95: 0.2, unit: "deg" } },
    verdict: { state, text, limit: request.job.drive?.minimum_gap ?? 0.5, probability },
    budget: [
      { part: "model choice", u: 0.021, note: "which line of a chamfer the edge is, and how far the edge is from straight" },
      { part: "edge noise", u: 0.011, note: "scatter of the edge points about the fitted line and circle" },
      { part: "camera", u: 0.006, note: "focal length and lens distortion, solved from these photos" },
      { part: "corner noise", u: 0.004, note: "how well the card's corners are located" },
      { part: "target flatness", u: 0.003, note: "a paper card that is not quite flat" },
      { part: "print scale", u: 0.0006, note: "how well the page's bars were measured" },
    ],
    photos: [...uses, ...others],
    warnings: request.job.print_scale ? [] : ["the print scale was not checked: 1 % is allowed for it"],
  };
}

export const RECORDED_ADVICE: SpacerAdvice = {
  headline: "fit 31/64 in rings on both sides: no chance worth naming of a rub, and the belts run straight enough",
  fits: true,
  choices: [
    {
      corner: "left",
      rings: ["31/64 in"],
      thickness: 12.3,
      change: true,
      gap_after: { value: 1.54, u95: 0.075, unit: "mm" },
      belt_offset_after: { value: 0.29, u95: 0.21, unit: "mm" },
      motor_slide: 0.5,
      rub_chance_now: 0.0004,
      rub_chance_after: 0,
    },
  ],
  ideal: [],
  steps: [
    "take the wheel off and swap the 7/16 in ring for the 31/64 in one",
    "put the wheel back and turn the axle nut only until the play is gone",
    "loosen the motor pulley, slide it 0.5 mm outward and tighten it again",
    "turn the wheel by hand all the way round, then measure the gap once more",
  ],
  notes: ["the right corner has not been measured yet; it gets the same ring, so measure it before you ride"],
  cautions: [
    "Switch the board off and disconnect the battery before a hand or tool goes near the drive: a motor that wakes up does not wait for you.",
    "Keep fingers, hair and sleeves clear of belt and pulleys, and turn the wheel slowly by hand only.",
    "Stand the board so that it can neither tip nor roll.",
    "Do not ride before every wheel turns freely all the way round and nothing rubs.",
    "When in doubt, have a qualified workshop do the work or check it before you ride.",
  ],
  basis: ["wheel on the ring: one millimetre of ring gives one millimetre of gap", "smallest gap 0.50 mm kept with 95 % confidence"],
  rejected: [{ rings: ["26/64 in"], thickness: 10.32, reason: "the left gap would be below nothing" }],
};
