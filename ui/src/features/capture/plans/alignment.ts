import { alignmentWanted } from "../photos";
import { DRIVE_CAUTIONS, STEPS, type CheckPlan } from "./plan";

export const ALIGNMENT: CheckPlan = {
  kind: "alignment",
  title: "check.alignment",
  steps: STEPS,
  ready: [
    {
      picture: "print",
      title: "plan.print-cut",
      text: "plan.print-cut-text",
      print: true,
    },
    {
      picture: "align-lay",
      title: "plan.align-lay",
      text: "plan.align-lay-text",
    },
    {
      picture: "align-shoot",
      title: "plan.align-shoot",
      text: "plan.align-shoot-text",
    },
  ],
  begin: "plan.card-is-on",
  cautions: DRIVE_CAUTIONS,
  shows: ["mount-card"],
  targets: () => ({ fixed: "mount-card" }),
  fewest: 2,
  wanted: (photos) => alignmentWanted(photos.length),
  curves: ["driven_inner", "driven_outer", "motor_inner", "motor_outer"],
  optional: [],
  choices: [],
  marksHelp: "plan.align-marks",
  fields: [
    {
      key: "rim_diameter",
      label: "plan.wheel-flanges",
      help: "plan.by-calliper",
      range: [10, 400],
      mayBeEmpty: false,
      start: (board) => board?.drive.rim_diameter ?? null,
    },
    {
      key: "motor_diameter",
      label: "plan.motor-flanges",
      help: "plan.by-calliper",
      range: [8, 200],
      mayBeEmpty: false,
      start: () => null,
    },
    {
      key: "rim_chamfer",
      label: "plan.flange-chamfer",
      help: "plan.empty-less-sure",
      range: [0, 3],
      mayBeEmpty: true,
      start: () => null,
    },
    {
      key: "alignment_limit",
      label: "plan.alignment-limit",
      help: "plan.alignment-limit-help",
      unit: "degrees",
      range: [0.01, 5],
      mayBeEmpty: true,
      start: () => null,
    },
  ],
  fieldsTitle: "plan.pulleys",
  fieldsHelp: "plan.pulleys-help",
  heights: [],
};
