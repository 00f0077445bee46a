import { photosWanted } from "../photos";
import { DRIVE_CAUTIONS, gapTargets, RIM_CHAMFER, RIM_DIAMETER, STEPS, type CheckPlan } from "./plan";

/** No edge of a drive stands further from its card than this, mm. */
const HEIGHT_RANGE = [-100, 100] as const;

export const GAP: CheckPlan = {
  kind: "gap",
  title: "plan.gap",
  steps: STEPS,
  ready: [
    {
      picture: "print",
      title: "plan.print-cut",
      text: "plan.print-cut-text",
      print: true,
    },
    {
      picture: "stick",
      title: "plan.stick-flat",
      text: "plan.stick-flat-text",
    },
    {
      picture: "shoot",
      title: "plan.three-photos",
      text: "plan.gap-shoot-text",
    },
  ],
  begin: "plan.card-is-on",
  cautions: DRIVE_CAUTIONS,
  shows: ["mount-card"],
  targets: gapTargets,
  fewest: 1,
  wanted: (photos) => photosWanted(photos.length),
  curves: ["mount_edge", "rim_edge"],
  optional: [],
  choices: [],
  marksHelp: "plan.gap-marks",
  fields: [
    RIM_DIAMETER,
    {
      key: "mount_chamfer",
      label: "common.mount-chamfer",
      help: "common.empty-when-unknown",
      range: [0, 3],
      mayBeEmpty: true,
      start: (board) => board?.drive.mount_chamfer ?? null,
    },
    RIM_CHAMFER,
    {
      key: "minimum_gap",
      label: "common.smallest-gap",
      help: "plan.verdict-against",
      range: [0, 10],
      mayBeEmpty: false,
      start: (board) => board?.drive.minimum_gap ?? null,
    },
  ],
  fieldsTitle: "board.drive",
  fieldsHelp: "plan.from-board",
  heights: [
    { mark: "mount_edge", label: "plan.mount-height", help: "plan.below-minus", range: HEIGHT_RANGE },
    { mark: "rim_edge", label: "plan.rim-height", help: "plan.below-minus", range: HEIGHT_RANGE },
  ],
};
