import { alignmentWanted } from "../photos";
import { DRIVE_CAUTIONS, STEPS, type CheckPlan } from "./plan";

export const ALIGNMENT: CheckPlan = {
  kind: "alignment",
  title: "Belt alignment",
  steps: STEPS,
  ready: [
    {
      picture: "print",
      title: "Print and cut",
      text: "Print the mount card at 100 %, on plain white paper, and cut it out. Keep the page with its two long bars.",
      print: true,
    },
    {
      picture: "align-lay",
      title: "Card on the mount, dark cloth below",
      text: "Stick the card flat on the mount [mount], where it shows from above beside both pulleys [rim]. A dark cloth under the drive makes their edges stand out.",
    },
    {
      picture: "align-shoot",
      title: "Four photos from above",
      text: "Two from a little outboard of the pulleys, two from a little inboard; of each two one from high up and one from lower down. Card and both pulleys sharp in each.",
    },
  ],
  begin: "The card is on",
  cautions: DRIVE_CAUTIONS,
  shows: ["mount-card"],
  targets: () => ({ fixed: "mount-card" }),
  fewest: 2,
  wanted: (photos) => alignmentWanted(photos.length),
  curves: ["driven_inner", "driven_outer", "motor_inner", "motor_outer"],
  optional: [],
  choices: [],
  marksHelp: "Mark every edge in every photo that shows it, in two at least. Marks can be carried over and dragged into place.",
  fields: [
    {
      key: "rim_diameter",
      label: "Wheel pulley, across its flanges",
      help: "Measured with a calliper.",
      range: [10, 400],
      mayBeEmpty: false,
      start: (board) => board?.drive.rim_diameter ?? null,
    },
    {
      key: "motor_diameter",
      label: "Motor pulley, across its flanges",
      help: "Measured with a calliper.",
      range: [8, 200],
      mayBeEmpty: false,
      start: () => null,
    },
    {
      key: "rim_chamfer",
      label: "Chamfer of the flanges",
      help: "Empty when not known: the answer is less sure then.",
      range: [0, 3],
      mayBeEmpty: true,
      start: () => null,
    },
    {
      key: "alignment_limit",
      label: "Largest misalignment allowed",
      help: "The belt's maker gives it, angle and offset together. Empty: the board's own, or else what a belt maker's guide says.",
      unit: "degrees",
      range: [0.01, 5],
      mayBeEmpty: true,
      start: () => null,
    },
  ],
  fieldsTitle: "The pulleys",
  fieldsHelp: "Both diameters are needed: they tell how far away the pulleys are.",
  heights: [],
};
