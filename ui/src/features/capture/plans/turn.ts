import { turnWanted } from "../coverage";
import { CARD_AND_RING, DRIVE_CAUTIONS, RIM_CHAMFER, RIM_DIAMETER, STEPS, type CheckPlan } from "./plan";

export const TURN: CheckPlan = {
  kind: "turn",
  title: "Run-out over a turn",
  steps: STEPS,
  ready: [
    {
      picture: "ring-print",
      title: "Print card and ring",
      text: "Print mount card and hub ring at 100 %, on plain white paper, and cut both out. Keep the page with its two long bars.",
      print: true,
    },
    {
      picture: "ring-stick",
      title: "Ring on the wheel, card beside it",
      text: "Stick the ring flat around the axle; it need not be centred. Stick the card on a part that stands still, facing the same way. Neither may move until the last photo.",
    },
    {
      picture: "turn-shoot",
      title: "Turn and take, all the way round",
      text: "From about 25 cm, card, ring and rim [rim] in view. Turn the wheel a little further by hand for each photo, 8 to 12 in one turn, and move the phone a little too.",
    },
  ],
  begin: "Card and ring are on",
  cautions: [...DRIVE_CAUTIONS, "Turn the wheel slowly, by hand only."],
  shows: ["mount-card", "hub-ring"],
  targets: () => CARD_AND_RING,
  fewest: 4,
  wanted: turnWanted,
  curves: [],
  optional: ["rim_edge", "screw_1"],
  choices: [],
  marksHelp: "The rim is looked for by its diameter. Mark it in one photo if the answer says that it was not found.",
  fields: [
    RIM_DIAMETER,
    RIM_CHAMFER,
    {
      key: "runout_limit",
      label: "Largest run-out allowed",
      help: "Full movement over a turn. Empty: twice the board's eccentricity limit, or else 0.10 mm, which is ours.",
      range: [0.005, 10],
      mayBeEmpty: true,
      start: () => null,
    },
  ],
  fieldsTitle: "The wheel",
  fieldsHelp: "Taken from the board's description; change what is different at this corner.",
  heights: [],
};
