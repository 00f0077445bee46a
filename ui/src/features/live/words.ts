import type { Look, Standing, Trouble } from "../../lib/backend";
import { targetName } from "../../lib/format/words";

/** What to do about a picture's trouble, short enough to be read behind a phone. */
export function troubleWords(trouble: Trouble): string {
  switch (trouble.code) {
    case "dark":
      return "Too dark: more light.";
    case "blurred":
      return "Blurred: hold still, and let the camera focus.";
    case "no-target":
      return `No ${targetName(trouble.wanted)} to be seen: come closer, the whole of it in view.`;
    case "wrong-target":
      return `This is the ${targetName(trouble.seen)}; the ${targetName(trouble.wanted)} is wanted.`;
    case "too-far":
      return "Come closer.";
    case "too-flat":
      return "Too flat: look at it more squarely.";
    case "cut-off":
      return `The ${targetName(trouble.target)} is cut off: move back, or aim at its middle.`;
    case "glare":
      return `Glare on the ${targetName(trouble.target)}: keep the lamp's mirror image off it.`;
    case "covered":
      return `Something covers the ${targetName(trouble.target)}.`;
  }
}

const WAYS = { left: "further left", right: "further right", higher: "higher up", lower: "lower down" } as const;

/** What to do where nothing is wrong with the picture. */
function standingWords(standing: Standing): string {
  switch (standing.is) {
    case "moving":
      return "Hold still.";
    case "same-angle":
      return "Turn the wheel on.";
    case "same-side":
      return `Now one from ${WAYS[standing.way]}.`;
    case "by-hand":
      return "Press when it is as it should be.";
    case "enough":
      return "That is enough.";
    case "good":
    case "troubled":
      return "Good.";
  }
}

/** The one sentence to be read now. */
export function hint(look: Look | null): string {
  if (!look) return "Opening the camera…";
  const { standing } = look.judged;
  const [first] = look.troubles;
  if (standing.is === "enough" || !first) return standingWords(standing);
  return troubleWords(first);
}
