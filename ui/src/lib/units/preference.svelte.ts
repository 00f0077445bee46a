import type { LengthUnit } from "./length";

const KEY = "length-unit";

function remembered(): LengthUnit {
  try {
    return localStorage.getItem(KEY) === "in" ? "in" : "mm";
  } catch {
    // Storage can be switched off; the choice then lasts until the program ends.
    return "mm";
  }
}

let chosen = $state<LengthUnit>(remembered());

/** Which unit comes first on the screen; the other one stands below it. */
export const lengthUnit = {
  get first(): LengthUnit {
    return chosen;
  },
  set first(unit: LengthUnit) {
    chosen = unit;
    try {
      localStorage.setItem(KEY, unit);
    } catch {
      // See `remembered`.
    }
  },
};
