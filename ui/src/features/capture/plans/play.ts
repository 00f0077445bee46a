import { CARD_AND_RING, DRIVE_CAUTIONS, type CheckPlan } from "./plan";
import { playWanted } from "../photos";

export const PLAY: CheckPlan = {
  kind: "play",
  title: "Bearing play",
  steps: ["ready", "photos", "sizes", "answer"],
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
      text: "Stick the ring flat around the axle. Stick the card on a part that stands still, facing the same way. Neither may move until the last photo.",
    },
    {
      picture: "play-shoot",
      title: "Push, take; pull, take",
      text: "Phone on a stand or held still, about 20 cm away. Push the wheel firmly to one side and take a photo, then to the other side. Do not let it turn.",
    },
  ],
  begin: "Card and ring are on",
  cautions: [...DRIVE_CAUTIONS, "Hold the wheel at the tyre, away from belt and pulleys."],
  shows: ["mount-card", "hub-ring"],
  targets: () => CARD_AND_RING,
  fewest: 2,
  wanted: (photos) => playWanted(photos.length),
  curves: [],
  optional: [],
  choices: [],
  marksHelp: "",
  fields: [
    {
      key: "play_limit",
      label: "Largest play allowed",
      help: "The bearing's or board's maker gives it. Empty: 0.10 mm, which is ours.",
      range: [0.005, 10],
      mayBeEmpty: true,
      start: () => null,
    },
  ],
  fieldsTitle: "The bearing",
  fieldsHelp: "The verdict is given against this limit.",
  heights: [],
};
