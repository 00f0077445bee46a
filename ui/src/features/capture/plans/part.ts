import { partWanted } from "../photos";
import { STEPS, type CheckPlan } from "./plan";

/** The engine measures no taller part, mm. */
const TALLEST = 80;

export const PART: CheckPlan = {
  kind: "part",
  title: "A loose part",
  steps: STEPS,
  ready: [
    {
      picture: "sheet-print",
      title: "Print the bench sheet",
      text: "Print the bench sheet at 100 %, on plain matt paper. Measure its two long bars with a calliper.",
      print: true,
    },
    {
      picture: "part-lay",
      title: "Lay it down",
      text: "Lay sheet and part flat on a hard bench, the part clean and in the middle of the sheet. Neither may move until the last photo.",
    },
    {
      picture: "part-shoot",
      title: "Three photos",
      text: "From about 25 cm: one from above, two from a slant, from different sides. The whole upper face sharp in each, no lamp mirrored in it.",
    },
  ],
  begin: "The part lies still",
  cautions: [
    "Take parts off only with the board switched off and the battery disconnected.",
    "Edges of turned parts can be sharp.",
    "When in doubt, have a qualified workshop do the work.",
  ],
  shows: ["bench-sheet"],
  targets: () => ({ fixed: "bench-sheet" }),
  fewest: 1,
  wanted: (photos) => partWanted(photos.length),
  curves: [],
  optional: [],
  choices: [
    { id: "outer", label: "Outer diameter", curves: ["outer"] },
    { id: "inner", label: "Bore", curves: ["inner"] },
    { id: "width", label: "Width between two straight edges", curves: ["edge_a", "edge_b"] },
  ],
  marksHelp: "Round edges: one photo marked is enough. Straight edges: mark them in two photos.",
  fields: [
    {
      key: "nominal",
      label: "Size it should have",
      help: "Of the first thing measured. Empty when there is none.",
      range: [0.5, 400],
      mayBeEmpty: true,
      start: () => null,
    },
    {
      key: "tolerance",
      label: "± how much it may be off",
      help: "Belongs to the size above.",
      range: [0.001, 10],
      mayBeEmpty: true,
      start: () => null,
    },
    {
      key: "rim_chamfer",
      label: "Chamfer of its edges",
      help: "0 for sharp edges. Empty when not known: the answer is less sure then.",
      range: [0, 3],
      mayBeEmpty: true,
      start: () => null,
    },
  ],
  fieldsTitle: "The part",
  fieldsHelp: "With a size and its tolerance the answer says whether the part keeps them.",
  heights: [
    { mark: "all", label: "Height of its upper face", help: "Above the sheet.", range: [0, TALLEST] },
  ],
};
