import type { Look, Standing, Trouble } from "../../lib/backend";
import { targetName } from "../../lib/format/words";
import { t } from "../../lib/words/words.svelte";

/** What to do about a picture's trouble, short enough to be read behind a phone. */
export function troubleWords(trouble: Trouble): string {
  switch (trouble.code) {
    case "dark":
      return t("live.dark");
    case "blurred":
      return t("live.blurred");
    case "no-target":
      return t("live.no-target", { target: targetName(trouble.wanted) });
    case "wrong-target":
      return t("live.wrong-target", { seen: targetName(trouble.seen), wanted: targetName(trouble.wanted) });
    case "too-far":
      return t("live.too-far");
    case "too-flat":
      return t("live.too-flat");
    case "cut-off":
      return t("live.cut-off", { target: targetName(trouble.target) });
    case "glare":
      return t("live.glare", { target: targetName(trouble.target) });
    case "covered":
      return t("live.covered", { target: targetName(trouble.target) });
  }
}

const WAYS = { left: "live.from-left", right: "live.from-right", higher: "live.from-higher", lower: "live.from-lower" } as const;

/** What to do where nothing is wrong with the picture. */
function standingWords(standing: Standing): string {
  switch (standing.is) {
    case "moving":
      return t("live.hold-still");
    case "same-angle":
      return t("live.turn-on");
    case "same-side":
      return t(WAYS[standing.way]);
    case "by-hand":
      return t("live.press");
    case "enough":
      return t("live.enough");
    case "good":
    case "troubled":
      return t("live.good");
  }
}

/** The one sentence to be read now. */
export function hint(look: Look | null): string {
  if (!look) return t("live.opening");
  const { standing } = look.judged;
  const [first] = look.troubles;
  if (standing.is === "enough" || !first) return standingWords(standing);
  return troubleWords(first);
}
