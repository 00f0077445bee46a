import type { Conformity, Corner, Located } from "../backend/types";
import type { PlainKey } from "../words/catalogue";
import { t } from "../words/words.svelte";

/** What a verdict is called on every screen. */
export const VERDICT_WORDS: Record<Conformity, PlainKey> = {
  within: "verdict.gap-within",
  outside: "verdict.gap-outside",
  undecided: "verdict.undecided",
};

/** What a tension's verdict is called. */
export const TENSION_WORDS: Record<Conformity, PlainKey> = {
  within: "verdict.tension-within",
  outside: "verdict.tension-outside",
  undecided: "verdict.tension-undecided",
};

/** A corner as a heading. */
const CORNERS: Record<Corner, PlainKey> = { left: "corner.left", right: "corner.right" };
/** A corner behind what is measured there. */
const PLACES: Record<Corner, PlainKey> = { left: "corner.left-place", right: "corner.right-place" };

export const cornerName = (corner: Corner): string => t(CORNERS[corner]);
export const cornerPlace = (corner: Corner): string => t(PLACES[corner]);

const TARGETS: Record<string, PlainKey> = {
  "mount-card": "target.mount-card",
  "hub-ring": "target.hub-ring",
  "bench-sheet": "target.bench-sheet",
};

/** What each targets' definition is called; an unknown one keeps its own name. */
export function targetName(name: string): string {
  const known = TARGETS[name];
  return known ? t(known) : name;
}

/** How a thicker spacer acts, in the words of the form. */
export const LOCATED_WORDS: Record<Located, { name: PlainKey; help: PlainKey }> = {
  wheel: { name: "located.wheel", help: "located.wheel-help" },
  hub: { name: "located.hub", help: "located.hub-help" },
  pulley: { name: "located.pulley", help: "located.pulley-help" },
};
