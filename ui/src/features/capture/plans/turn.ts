import { turnWanted } from "../coverage";
import { CARD_AND_RING, DRIVE_CAUTIONS, RIM_CHAMFER, RIM_DIAMETER, STEPS, type CheckPlan } from "./plan";

export const TURN: CheckPlan = {
  kind: "turn",
  title: "board.turn",
  steps: STEPS,
  ready: [
    {
      picture: "ring-print",
      title: "plan.print-both",
      text: "plan.print-both-text",
      print: true,
    },
    {
      picture: "ring-stick",
      title: "plan.stick-both",
      text: "plan.stick-both-turn",
    },
    {
      picture: "turn-shoot",
      title: "plan.turn-shoot",
      text: "plan.turn-shoot-text",
    },
  ],
  begin: "plan.both-are-on",
  cautions: [...DRIVE_CAUTIONS, "caution.turn-by-hand"],
  shows: ["mount-card", "hub-ring"],
  targets: () => CARD_AND_RING,
  fewest: 4,
  wanted: turnWanted,
  curves: [],
  optional: ["rim_edge", "screw_1"],
  choices: [],
  marksHelp: "plan.turn-marks",
  fields: [
    RIM_DIAMETER,
    RIM_CHAMFER,
    {
      key: "runout_limit",
      label: "plan.runout-limit",
      help: "plan.runout-limit-help",
      range: [0.005, 10],
      mayBeEmpty: true,
      start: () => null,
    },
  ],
  fieldsTitle: "plan.wheel",
  fieldsHelp: "plan.from-board",
  heights: [],
};
