/** The places that texts have for values, by key; a test compares this with the texts. */
export interface Places {
  "board.at-most": "most";
  "board.in-out": "inward" | "outward";
  "board.measure-again": "verdict";
  "board.measured-on": "day";
  "board.photos": "count";
  "board.trend": "check" | "count" | "place";
  "board.trend-limit": "limit" | "unit";
  "board.trend-unit": "unit";
  "board.under-way": "check" | "place";
  "boards.checks": "count" | "day";
  "boards.shown": "all" | "shown";
  "part.scale": "length" | "limit";
  "polar.centre": "size";
  "polar.spoken": "size";
  "settings.forget-camera": "camera";
  "trend.ring": "ring";
}
