import { photosWanted } from "../photos";
import { DRIVE_CAUTIONS, gapTargets, RIM_CHAMFER, RIM_DIAMETER, STEPS, type CheckPlan } from "./plan";

/** No edge of a drive stands further from its card than this, mm. */
const HEIGHT_RANGE = [-100, 100] as const;

export const GAP: CheckPlan = {
  kind: "gap",
  title: "Gap check",
  steps: STEPS,
  ready: [
    {
      picture: "print",
      title: "Print and cut",
      text: "Print the mount card at 100 %, on plain white paper, and cut it out. Keep the page with its two long bars.",
      print: true,
    },
    {
      picture: "stick",
      title: "Stick it flat",
      text: "Stick the card on a flat face beside the gap, its long side along the mount [mount]. It must not bend, and it must not move until the last photo.",
    },
    {
      picture: "shoot",
      title: "Three photos",
      text: "From about 20 cm: one straight, one from further left, one from further right. Card, mount [mount] and rim [rim] sharp in each.",
    },
  ],
  begin: "The card is on",
  cautions: DRIVE_CAUTIONS,
  shows: ["mount-card"],
  targets: gapTargets,
  fewest: 1,
  wanted: (photos) => photosWanted(photos.length),
  curves: ["mount_edge", "rim_edge"],
  optional: [],
  choices: [],
  marksHelp: "One photo marked is enough; the others follow by the card.",
  fields: [
    RIM_DIAMETER,
    {
      key: "mount_chamfer",
      label: "Mount chamfer",
      help: "Empty when not known.",
      range: [0, 3],
      mayBeEmpty: true,
      start: (board) => board?.drive.mount_chamfer ?? null,
    },
    RIM_CHAMFER,
    {
      key: "minimum_gap",
      label: "Smallest gap allowed",
      help: "The verdict is given against it.",
      range: [0, 10],
      mayBeEmpty: false,
      start: (board) => board?.drive.minimum_gap ?? null,
    },
  ],
  fieldsTitle: "The drive",
  fieldsHelp: "Taken from the board's description; change what is different at this corner.",
  heights: [
    { mark: "mount_edge", label: "Mount edge above card", help: "Below it: with a minus.", range: HEIGHT_RANGE },
    { mark: "rim_edge", label: "Rim edge above card", help: "Below it: with a minus.", range: HEIGHT_RANGE },
  ],
};
