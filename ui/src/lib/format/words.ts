import type { Conformity, Corner, Located } from "../backend/types";

/** What a verdict is called on every screen. */
export const VERDICT_WORDS: Record<Conformity, string> = {
  within: "Room enough",
  outside: "Too tight",
  undecided: "Not sure yet",
};

/** What a tension's verdict is called. */
export const TENSION_WORDS: Record<Conformity, string> = {
  within: "Tension kept",
  outside: "Set it again",
  undecided: "Not decided",
};

export const CORNER_WORDS: Record<Corner, string> = { left: "Left", right: "Right" };

/** What each targets' definition is called; an unknown one keeps its own name. */
export function targetName(name: string): string {
  const known: Record<string, string> = {
    "mount-card": "mount card",
    "hub-ring": "hub ring",
    "bench-sheet": "bench sheet",
  };
  return known[name] ?? name;
}

/** How a thicker spacer acts, in the words of the form. */
export const LOCATED_WORDS: Record<Located, { name: string; help: string }> = {
  wheel: {
    name: "Between the axle's shoulder and the whole wheel",
    help: "A thicker ring moves wheel and pulley outward: the gap grows by as much.",
  },
  hub: {
    name: "Between hub and pulley, the hub stays put",
    help: "A thicker ring pushes the pulley towards the mount: the gap shrinks by as much.",
  },
  pulley: {
    name: "Between pulley and hub, the pulley stays put",
    help: "A thicker ring moves only the hub: the gap stays, and no ring can mend it.",
  },
};
