import type { Place } from "../../lib/photo/view";
import type { PlainKey } from "../../lib/words/catalogue";
import { t, words } from "../../lib/words/words.svelte";

/** Everything that can be marked in a photo. */
export type CurveName = "mount_edge" | "rim_edge" | "outer" | "inner" | "edge_a" | "edge_b" | "driven_inner" | "driven_outer" | "motor_inner" | "motor_outer" | "screw_1";

/** Rough marks of one photo, in photo pixels. A curve without marks may be missing. */
export type PhotoMarks = { readonly [name in CurveName]?: Place[] };

/** What a curve is called, how many marks it needs, and how its marks look. */
export interface Curve {
  name: PlainKey;
  help: PlainKey;
  /** A straight edge needs two marks, a bent one three. */
  needed: number;
  /** More than this helps nobody. */
  most: number;
  /** In how many photos it must be marked; fewer are enough when there are fewer. */
  photos: number;
  /** Shape of its handles, which says it without colour. */
  shape: "square" | "circle" | "diamond" | "triangle";
}

const MOST_MARKS = 8;

export const CURVES: Record<CurveName, Curve> = {
  mount_edge: {
    name: "curve.mount-edge",
    help: "curve.mount-edge-help",
    needed: 2,
    most: MOST_MARKS,
    photos: 1,
    shape: "square",
  },
  rim_edge: {
    name: "curve.rim-edge",
    help: "curve.rim-edge-help",
    needed: 3,
    most: MOST_MARKS,
    photos: 1,
    shape: "circle",
  },
  outer: {
    name: "curve.outer",
    help: "curve.outer-help",
    needed: 3,
    most: MOST_MARKS,
    photos: 1,
    shape: "circle",
  },
  inner: {
    name: "value.inner-diameter",
    help: "curve.inner-help",
    needed: 3,
    most: MOST_MARKS,
    photos: 1,
    shape: "square",
  },
  edge_a: {
    name: "curve.edge-a",
    help: "curve.edge-a-help",
    needed: 2,
    most: MOST_MARKS,
    photos: 2,
    shape: "square",
  },
  edge_b: {
    name: "curve.edge-b",
    help: "curve.edge-b-help",
    needed: 2,
    most: MOST_MARKS,
    photos: 2,
    shape: "circle",
  },
  driven_inner: {
    name: "curve.driven-inner",
    help: "curve.driven-inner-help",
    needed: 3,
    most: MOST_MARKS,
    photos: 2,
    shape: "circle",
  },
  driven_outer: {
    name: "curve.driven-outer",
    help: "curve.outer-flange-help",
    needed: 3,
    most: MOST_MARKS,
    photos: 2,
    shape: "diamond",
  },
  motor_inner: {
    name: "curve.motor-inner",
    help: "curve.motor-inner-help",
    needed: 3,
    most: MOST_MARKS,
    photos: 2,
    shape: "square",
  },
  motor_outer: {
    name: "curve.motor-outer",
    help: "curve.outer-flange-help",
    needed: 3,
    most: MOST_MARKS,
    photos: 2,
    shape: "triangle",
  },
  screw_1: {
    name: "curve.screw-1",
    help: "curve.screw-1-help",
    needed: 1,
    most: 1,
    photos: 1,
    shape: "diamond",
  },
};

/** Whether a job's name of marks is one that the page knows. */
export function isCurve(name: string): name is CurveName {
  return name in CURVES;
}

/** What a curve is called within a sentence. German writes nouns with a capital there too. */
export function curveInSentence(curve: CurveName): string {
  const name = t(CURVES[curve].name);
  return words.now === "de" ? name : name.charAt(0).toLowerCase() + name.slice(1);
}

export function noMarks(): PhotoMarks {
  return {};
}

/** The marks of a curve. */
export function marksOf(marks: PhotoMarks, curve: CurveName): Place[] {
  return marks[curve] ?? [];
}

/** Whether a curve carries the marks it needs. */
export function marked(marks: PhotoMarks, curve: CurveName): boolean {
  return marksOf(marks, curve).length >= CURVES[curve].needed;
}

/** Whether all of some curves carry the marks they need. */
export function complete(marks: PhotoMarks, curves: readonly CurveName[]): boolean {
  return curves.every((curve) => marked(marks, curve));
}

/** Whether a curve is marked in as many photos as it has to be. */
export function markedEnough(photos: readonly PhotoMarks[], curve: CurveName): boolean {
  return photos.filter((marks) => marked(marks, curve)).length >= Math.min(CURVES[curve].photos, photos.length);
}

/** Whether nothing is marked. */
export function empty(marks: PhotoMarks): boolean {
  return Object.values(marks).every((places) => places.length === 0);
}

/** The curve that the next mark belongs to: the first of those that still want marks. */
export function wanted(marks: PhotoMarks, curves: readonly CurveName[]): CurveName | null {
  return curves.find((curve) => !marked(marks, curve)) ?? null;
}

/** One mark more; where a curve has all it may have, the last one moves there. */
export function withMark(marks: PhotoMarks, curve: CurveName, place: Place): PhotoMarks {
  const before = marksOf(marks, curve);
  if (before.length < CURVES[curve].most) return { ...marks, [curve]: [...before, place] };
  return CURVES[curve].most === 1 ? { ...marks, [curve]: [place] } : marks;
}

export function withMoved(marks: PhotoMarks, curve: CurveName, index: number, place: Place): PhotoMarks {
  return { ...marks, [curve]: marksOf(marks, curve).map((old, i) => (i === index ? place : old)) };
}

export function withoutMark(marks: PhotoMarks, curve: CurveName, index: number): PhotoMarks {
  return { ...marks, [curve]: marksOf(marks, curve).filter((_, i) => i !== index) };
}

/** The marks as a job carries them: a curve that has too few is left out. */
export function forJob(marks: PhotoMarks, curves: readonly CurveName[]): { [key in string]: Place[] } {
  const job: { [key in string]: Place[] } = {};
  for (const curve of curves) {
    if (marked(marks, curve)) job[curve] = marksOf(marks, curve);
  }
  return job;
}

/** Reads a job's marks back, for instance those that came with the demo. */
export function fromJob(marks: { [key in string]: Place[] } | undefined): PhotoMarks {
  const known = Object.entries(marks ?? {}).filter(([name]) => name in CURVES);
  return Object.fromEntries(known);
}
