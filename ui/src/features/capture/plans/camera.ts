import { cameraWanted } from "../photos";
import type { CheckPlan } from "./plan";

export const CAMERA: CheckPlan = {
  kind: "camera",
  title: "Calibrate a camera",
  steps: ["ready", "photos", "sizes", "answer"],
  ready: [
    {
      picture: "sheet-print",
      title: "Print the bench sheet",
      text: "Print the bench sheet at 100 % and stick it on a flat board: a bent sheet makes a bent lens.",
      print: true,
    },
    {
      picture: "camera-shoot",
      title: "A dozen photos",
      text: "From above, from all four sides, and held upright too; nearer and further. In some photos the sheet should reach into each corner of the picture.",
    },
  ],
  begin: "The sheet lies flat",
  cautions: [],
  shows: ["bench-sheet"],
  targets: () => ({ fixed: "bench-sheet" }),
  fewest: 3,
  wanted: (photos) => cameraWanted(photos.length),
  curves: [],
  optional: [],
  choices: [],
  marksHelp: "",
  fields: [],
  fieldsTitle: "",
  fieldsHelp: "",
  heights: [],
};
