import type { Place } from "../../lib/photo/view";

/** The two edges that a gap check asks for. */
export type EdgeName = "mount_edge" | "rim_edge";

/** Rough marks of one photo, in photo pixels. */
export interface PhotoMarks {
  mount_edge: Place[];
  rim_edge: Place[];
}

/** How many marks an edge needs: a straight edge two, a bent one three. */
export const NEEDED: Record<EdgeName, number> = { mount_edge: 2, rim_edge: 3 };

/** More than this helps nobody. */
export const MOST_MARKS = 8;

/** What each edge is called, and where to look for it. */
export const EDGE_WORDS: Record<EdgeName, { name: string; help: string }> = {
  mount_edge: { name: "Mount edge", help: "The edge of the motor plate that faces the pulley. Two marks, far apart." },
  rim_edge: { name: "Rim edge", help: "The edge of the pulley that faces the plate. Three marks along its bend." },
};

export function noMarks(): PhotoMarks {
  return { mount_edge: [], rim_edge: [] };
}

/** Whether both edges carry the marks they need. */
export function complete(marks: PhotoMarks): boolean {
  return marks.mount_edge.length >= NEEDED.mount_edge && marks.rim_edge.length >= NEEDED.rim_edge;
}

/** Whether nothing is marked. */
export function empty(marks: PhotoMarks): boolean {
  return marks.mount_edge.length === 0 && marks.rim_edge.length === 0;
}

/** The edge that the next mark belongs to: the first one that still wants marks. */
export function wanted(marks: PhotoMarks): EdgeName | null {
  if (marks.mount_edge.length < NEEDED.mount_edge) return "mount_edge";
  if (marks.rim_edge.length < NEEDED.rim_edge) return "rim_edge";
  return null;
}

export function withMark(marks: PhotoMarks, edge: EdgeName, place: Place): PhotoMarks {
  if (marks[edge].length >= MOST_MARKS) return marks;
  return { ...marks, [edge]: [...marks[edge], place] };
}

export function withMoved(marks: PhotoMarks, edge: EdgeName, index: number, place: Place): PhotoMarks {
  return { ...marks, [edge]: marks[edge].map((old, i) => (i === index ? place : old)) };
}

export function withoutMark(marks: PhotoMarks, edge: EdgeName, index: number): PhotoMarks {
  return { ...marks, [edge]: marks[edge].filter((_, i) => i !== index) };
}

/** The marks as a job carries them: an edge that has too few is left out. */
export function forJob(marks: PhotoMarks): { [key in string]: Place[] } {
  const job: { [key in string]: Place[] } = {};
  for (const edge of ["mount_edge", "rim_edge"] as const) {
    if (marks[edge].length >= NEEDED[edge]) job[edge] = marks[edge];
  }
  return job;
}

/** Reads a job's marks back, for instance those that came with the demo. */
export function fromJob(marks: { [key in string]: Place[] } | undefined): PhotoMarks {
  return { mount_edge: marks?.mount_edge ?? [], rim_edge: marks?.rim_edge ?? [] };
}
