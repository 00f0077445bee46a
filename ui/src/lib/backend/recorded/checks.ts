import type { CheckResult, MeasureRequest, PhotoAdded, PhotoUse, Phrase, PhraseValue } from "../types";
import recorded from "./checks.json";
import firstSheet from "./sheet-1.jpg";
import secondSheet from "./sheet-2.jpg";
import firstWheel from "./wheel-1.jpg";
import secondWheel from "./wheel-2.jpg";

/** What is recorded of one picture. A JSON file's type knows lists of numbers, not pairs. */
interface Seen {
  found: PhotoAdded["found"];
  use: Omit<PhotoUse, "file">;
}

const WHEEL = recorded.wheel as unknown as Seen[];
const SHEET = recorded.sheet as unknown as Seen[];

interface Picture {
  url: string;
  seen: Seen;
}

const WHEELS: Picture[] = [firstWheel, secondWheel].map((url, index) => ({ url, seen: WHEEL[index]! }));
const PART: Picture = { url: firstSheet, seen: SHEET[0]! };
const CAMERA: Picture = { url: secondSheet, seen: SHEET[1]! };

/** Photos are told by their names: `wheel-3.jpg`, `part-1.jpg`, `lens-7.jpg`; the number says which of the series it is. */
const NAME = /^(wheel|part|lens)-(\d+)\.jpg$/;
/** How far the wheel is turned from one photo of the series to the next, degrees. */
const TURN = 37;

function pictureOf(id: string): Picture | null {
  const [, kind, number] = NAME.exec(id) ?? [];
  if (kind === "wheel") return WHEELS[Number(number) % WHEELS.length]!;
  if (kind === "part") return PART;
  return kind === "lens" ? CAMERA : null;
}

/** A photo of these series; nothing for another name. */
export function checkPhoto(name: string): PhotoAdded | null {
  const picture = pictureOf(name);
  if (!picture) return null;
  const number = Number(NAME.exec(name)?.[2]);
  const wheel_angle = name.startsWith("wheel") ? (number * TURN) % 360 : undefined;
  return { id: name, name, width: 704, height: 528, camera: "Larkspur L-20 Test", found: picture.seen.found, notes: [], wheel_angle };
}

/** Where its picture is; nothing for another name. */
export function checkPicture(id: string): string | null {
  return pictureOf(id)?.url ?? null;
}

function use(file: string, check: CheckResult["check"]): PhotoUse {
  const picture = pictureOf(file);
  if (check === "alignment") return { file, corners: 14, rms_px: 0.04, used: true };
  return picture ? { file, ...picture.seen.use } : { file, corners: 0, rms_px: 0, used: false, note: "no target found" };
}

const TENTH: PhraseValue = { is: "length", mm: 0.1, decimals: 2 };

const PLAY: Pick<CheckResult, "values" | "verdict" | "budget" | "warnings"> = {
  values: {
    radial_play: { value: 0.183, u95: 0.041, unit: "mm" },
    axial_play: { value: 0.06, u95: 0.09, unit: "mm" },
    tilt_play: { value: 0.11, u95: 0.08, unit: "deg" },
  },
  verdict: { state: "outside", text: { text: "the radial play is above the limit of 0.10 mm", code: "the radial play is above the limit of {limit}", values: { limit: TENTH } }, limit: 0.1, probability: 0.00002 },
  budget: [
    { part: "corner noise", u: 0.019, note: "how well the corners of card and ring were located" },
    { part: "camera", u: 0.008, note: "what is known of the lens beforehand" },
  ],
  warnings: [
    {
      text: "no play limit was given; the verdict is against 0.10 mm, which is ours",
      code: "no play limit was given; the verdict is against {DEFAULT_PLAY_LIMIT}, which is ours",
      values: { DEFAULT_PLAY_LIMIT: TENTH },
    },
  ],
};

const MADE_OF: PhraseValue = {
  is: "words",
  words: {
    text: "0.52 mm of offset and 0.14 degrees between the axes",
    code: "{0} of offset and {1} degrees between the axes",
    values: { 0: { is: "length", mm: 0.52, decimals: 2 }, 1: { is: "number", value: 0.14, decimals: 2 } },
  },
};
const CROOKED: Phrase = {
  text: "the belt does not run straight: 0.52 mm of offset and 0.14 degrees between the axes together exceed 0.25 degrees",
  code: "the belt does not run straight: {made_of} together exceed {limit} degrees",
  values: { made_of: MADE_OF, limit: { is: "number", value: 0.25, decimals: 2 } },
};

const ALIGNMENT: typeof PLAY = {
  values: {
    misalignment: { value: 0.41, u95: 0.12, unit: "deg" },
    belt_offset: { value: 0.52, u95: 0.14, unit: "mm" },
    axis_angle: { value: 0.14, u95: 0.16, unit: "deg" },
    pulley_distance: { value: 121.3, u95: 0.5, unit: "mm" },
  },
  verdict: { state: "outside", text: CROOKED, limit: 0.25, probability: 0.004 },
  budget: [
    { part: "edge noise", u: 0.05, note: "how well the pulleys' edges were located, and what light may do to them" },
    { part: "chamfer", u: 0.02, note: "rounding and burrs of the edges" },
  ],
  warnings: [],
};

/** The recorded answer of a check that is neither a gap nor a tension. */
export function checkResult(check: CheckResult["check"], files: string[], job?: MeasureRequest["job"]): CheckResult {
  const invented = check === "play" ? PLAY : check === "alignment" ? ALIGNMENT : null;
  const told = invented ?? (recorded[check as "turn" | "part" | "camera"] as typeof PLAY);
  const values = { ...told.values };
  // A part gives what was marked.
  if (check === "part") {
    const marks = new Set(job?.photos.flatMap((photo) => Object.keys(photo.marks ?? {})));
    if (!marks.has("inner")) {
      delete values["inner_diameter"];
      delete values["centre_offset"];
    }
  }
  const photos = files.map((file) => use(file, check)).map((one) => (check === "play" ? { ...one, drawn: one.drawn?.filter((item) => item.what === "corner") } : one));
  return { check, ...told, values, photos };
}
