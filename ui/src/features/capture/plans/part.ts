import { partWanted } from "../photos";
import { STEPS, type CheckPlan } from "./plan";

/** The engine measures no taller part, mm. */
const TALLEST = 80;

export const PART: CheckPlan = {
  kind: "part",
  title: "board.part",
  steps: STEPS,
  ready: [
    {
      picture: "sheet-print",
      title: "plan.print-sheet",
      text: "plan.print-sheet-part",
      print: true,
    },
    {
      picture: "part-lay",
      title: "plan.part-lay",
      text: "plan.part-lay-text",
    },
    {
      picture: "part-shoot",
      title: "plan.three-photos",
      text: "plan.part-shoot-text",
    },
  ],
  begin: "plan.part-still",
  cautions: [
    "caution.take-off",
    "caution.sharp",
    "caution.workshop",
  ],
  shows: ["bench-sheet"],
  targets: () => ({ fixed: "bench-sheet" }),
  fewest: 1,
  wanted: (photos) => partWanted(photos.length),
  curves: [],
  optional: [],
  choices: [
    { id: "outer", label: "value.outer-diameter", curves: ["outer"] },
    { id: "inner", label: "value.inner-diameter", curves: ["inner"] },
    { id: "width", label: "plan.width-between", curves: ["edge_a", "edge_b"] },
  ],
  marksHelp: "plan.part-marks",
  fields: [
    {
      key: "nominal",
      label: "plan.nominal",
      help: "plan.nominal-help",
      range: [0.5, 400],
      mayBeEmpty: true,
      start: () => null,
    },
    {
      key: "tolerance",
      label: "plan.tolerance",
      help: "plan.tolerance-help",
      range: [0.001, 10],
      mayBeEmpty: true,
      start: () => null,
    },
    {
      key: "rim_chamfer",
      label: "plan.part-chamfer",
      help: "plan.part-chamfer-help",
      range: [0, 3],
      mayBeEmpty: true,
      start: () => null,
    },
  ],
  fieldsTitle: "plan.part-title",
  fieldsHelp: "plan.part-help",
  heights: [
    { mark: "all", label: "plan.upper-height", help: "plan.above-sheet", range: [0, TALLEST] },
  ],
};
