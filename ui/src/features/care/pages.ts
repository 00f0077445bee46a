import type { CarePage, Route } from "../../lib/route/route";

/** What each page is called, and what it is for. */
export const PAGES: Record<CarePage, { title: string; about: string }> = {
  spacers: { title: "Spacers", about: "Which ring to fit, and why not the others." },
  recentre: { title: "Re-centring", about: "Which way and how far to push the pulley." },
  shake: { title: "Shake", about: "What an eccentric pulley does at speed." },
  belt: { title: "Belt", about: "Length, teeth in mesh, and how straight it runs." },
  torques: { title: "Torques", about: "How tight each screw, who says so, and with which wrench." },
  service: { title: "Service checks", about: "What to look at by hand, and when it falls due." },
  drive: { title: "The belt drive", about: "Teeth, belt, screws, masses and limits that the advice needs." },
};

/** Pages that are about one corner. */
export const OF_A_CORNER: readonly CarePage[] = ["recentre", "shake"];

/** The links of a board to its pages, those of a corner once for each. */
export function careLinks(board: string): { name: string; about: string; to: Route }[] {
  return (Object.keys(PAGES) as CarePage[]).flatMap((page) => {
    const { title, about } = PAGES[page];
    if (!OF_A_CORNER.includes(page)) return [{ name: title, about, to: { screen: "care" as const, board, page } }];
    return (["left", "right"] as const).map((corner) => ({
      name: `${title}, ${corner}`,
      about,
      to: { screen: "care" as const, board, page, corner },
    }));
  });
}
