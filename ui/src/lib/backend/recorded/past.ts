import type { Board, Conformity, Corner, HistoryEntry, Phrase } from "../types";

/** Gap and limit of earlier checks: day, corner, gap and its u95 in mm, the ring that was fitted. */
const GAPS: [string, Corner, number, number, string, number][] = [
  ["2025-06-02", "left", 0.62, 0.07, "7/16 in", 11.11],
  ["2025-06-02", "right", 1.31, 0.06, "7/16 in", 11.11],
  ["2025-09-20", "left", 0.41, 0.06, "7/16 in", 11.11],
  ["2025-09-21", "left", 1.58, 0.05, "31/64 in", 12.3],
  ["2025-11-08", "right", 1.22, 0.05, "7/16 in", 11.11],
  ["2026-02-11", "left", 1.49, 0.06, "31/64 in", 12.3],
  ["2026-02-11", "right", 0.52, 0.05, "7/16 in", 11.11],
];

const LIMIT = 0.5;

function stateOf(value: number, u95: number): Conformity {
  if (value - u95 > LIMIT) return "within";
  return value + u95 < LIMIT ? "outside" : "undecided";
}

const told = (text: string, code: string): Phrase => ({ text, code, values: { limit: { is: "length", mm: LIMIT, decimals: 2 } } });
const MORE = "one more photo from nearer or from another side would help most";
const TEXTS: Record<Conformity, Phrase> = {
  within: told("the gap keeps the minimum of 0.50 mm", "the gap keeps the minimum of {limit}"),
  outside: told("the gap is below the minimum of 0.50 mm", "the gap is below the minimum of {limit}"),
  undecided: told(
    `the gap is too near to the minimum of 0.50 mm to say; ${MORE}`,
    `the gap is too near to the minimum of {limit} to say; ${MORE}`,
  ),
};

/** A board's history of a year, newest first: for pictures of trends. */
export function recordedPast(board: Board): HistoryEntry[] {
  return GAPS.map(([date, corner, value, u95, spacer_label, spacer_thickness], index): HistoryEntry => {
    const state = stateOf(value, u95);
    return {
      id: `past-${index}`,
      at: `${date}T17:30:00+01:00`,
      corner,
      fitted: { ...board.corners[corner === "left" ? 0 : 1], spacer_label, spacer_thickness },
      result: {
        check: "gap",
        values: { gap: { value, u95, unit: "mm" } },
        verdict: { state, text: TEXTS[state], limit: LIMIT, probability: state === "within" ? 1 : 0 },
        budget: [],
        photos: [],
        warnings: [],
      },
      job: { check: "gap", photos: [] },
      photo_ids: [],
      work_done: "",
    };
  }).reverse();
}
