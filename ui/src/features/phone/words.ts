import type { PhoneLine } from "../../lib/backend";
import { t } from "../../lib/words/words.svelte";

/** What a line of the log says. */
export function lineWords({ what, about }: PhoneLine): string {
  switch (what) {
    case "started":
      return t("use-phone.started", { about });
    case "wrong-code":
      return t("use-phone.wrong-code", { about });
    case "paired":
      return t("use-phone.paired", { about });
    case "kept":
      return t("use-phone.kept");
    case "refused":
      return t("use-phone.refused");
    case "ended":
      return t("use-phone.ended");
    case "nobody-paired":
      return t("use-phone.nobody-paired");
    case "wrong-codes":
      return t("use-phone.wrong-codes");
    case "idle":
      return t("use-phone.idle");
  }
}
