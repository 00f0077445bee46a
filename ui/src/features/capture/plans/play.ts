import { CARD_AND_RING, DRIVE_CAUTIONS, type CheckPlan } from "./plan";
import { playWanted } from "../photos";

export const PLAY: CheckPlan = {
  kind: "play",
  title: "check.play",
  steps: ["ready", "photos", "sizes", "answer"],
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
      text: "plan.stick-both-play",
    },
    {
      picture: "play-shoot",
      title: "plan.play-shoot",
      text: "plan.play-shoot-text",
    },
  ],
  begin: "plan.both-are-on",
  cautions: [...DRIVE_CAUTIONS, "caution.hold-tyre"],
  shows: ["mount-card", "hub-ring"],
  targets: () => CARD_AND_RING,
  fewest: 2,
  wanted: (photos) => playWanted(photos.length),
  curves: [],
  optional: [],
  choices: [],
  marksHelp: null,
  fields: [
    {
      key: "play_limit",
      label: "plan.play-limit",
      help: "plan.play-limit-help",
      range: [0.005, 10],
      mayBeEmpty: true,
      start: () => null,
    },
  ],
  fieldsTitle: "plan.bearing",
  fieldsHelp: "plan.against-limit",
  heights: [],
};
