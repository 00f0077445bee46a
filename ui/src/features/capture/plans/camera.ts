import { cameraWanted } from "../photos";
import type { CheckPlan } from "./plan";

export const CAMERA: CheckPlan = {
  kind: "camera",
  title: "settings.calibrate",
  steps: ["ready", "photos", "sizes", "answer"],
  ready: [
    {
      picture: "sheet-print",
      title: "plan.print-sheet",
      text: "plan.print-sheet-camera",
      print: true,
    },
    {
      picture: "camera-shoot",
      title: "plan.dozen",
      text: "plan.dozen-text",
    },
  ],
  begin: "plan.sheet-flat",
  cautions: [],
  shows: ["bench-sheet"],
  targets: () => ({ fixed: "bench-sheet" }),
  fewest: 3,
  wanted: (photos) => cameraWanted(photos.length),
  curves: [],
  optional: [],
  choices: [],
  marksHelp: null,
  fields: [],
  fieldsTitle: null,
  fieldsHelp: null,
  heights: [],
};
