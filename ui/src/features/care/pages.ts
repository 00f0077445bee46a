import type { CarePage, Route } from "../../lib/route/route";
import type { PlainKey } from "../../lib/words/catalogue";
import { t } from "../../lib/words/words.svelte";

/** What each page is called, and what it is for. */
export const PAGES: Record<CarePage, { title: PlainKey; about: PlainKey }> = {
  spacers: { title: "care.spacers", about: "care.spacers-about" },
  recentre: { title: "care.recentre", about: "care.recentre-about" },
  shake: { title: "care.shake", about: "care.shake-about" },
  belt: { title: "care.belt", about: "care.belt-about" },
  torques: { title: "care.torques", about: "care.torques-about" },
  service: { title: "care.service", about: "care.service-about" },
  drive: { title: "care.drive", about: "care.drive-about" },
};

/** Pages that are about one corner. */
export const OF_A_CORNER: readonly CarePage[] = ["recentre", "shake"];

/** The links of a board to its pages, those of a corner once for each. */
export function careLinks(board: string): { name: string; about: string; to: Route }[] {
  return (Object.keys(PAGES) as CarePage[]).flatMap((page) => {
    const title = t(PAGES[page].title);
    const about = t(PAGES[page].about);
    if (!OF_A_CORNER.includes(page)) return [{ name: title, about, to: { screen: "care" as const, board, page } }];
    return (["left", "right"] as const).map((corner) => ({
      name: t(corner === "left" ? "care.link-left" : "care.link-right", { page: title }),
      about,
      to: { screen: "care" as const, board, page, corner },
    }));
  });
}
