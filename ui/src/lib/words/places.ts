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
  "check.add-photos": "count";
  "live.covered": "target";
  "live.cut-off": "target";
  "live.dialog": "check";
  "live.glare": "target";
  "live.no-target": "target";
  "live.of": "enough" | "taken";
  "live.taken": "number";
  "live.wrong-target": "seen" | "wanted";
  "part.scale": "length" | "limit";
  "photos.found": "all" | "found" | "target";
  "photos.looking-for": "count" | "targets";
  "photos.missing": "target";
  "photos.parts-of-turn": "all" | "taken";
  "photos.photo": "name";
  "photos.remove": "name";
  "polar.centre": "size";
  "polar.spoken": "size";
  "settings.forget-camera": "camera";
  "sizes.bar-off": "bar";
  "sizes.between": "high" | "low" | "unit";
  "sizes.page-about": "bar";
  "trend.ring": "ring";
  "wanted.camera-few": "count";
  "wanted.turn-few": "count";
}
