import type { CheckKind, Corner } from "../backend/types";

/** Checks from photos that are made at a corner. */
export type CornerCheck = Extract<CheckKind, "gap" | "turn" | "play" | "alignment" | "part">;
const CORNER_CHECKS: readonly CornerCheck[] = ["gap", "turn", "play", "alignment", "part"];

/** Pages about the care of a board. */
export type CarePage = "spacers" | "recentre" | "shake" | "belt" | "torques" | "service" | "drive";
const CARE_PAGES: readonly CarePage[] = ["spacers", "recentre", "shake", "belt", "torques", "service", "drive"];

/** A screen and what it shows. */
export type Route =
  | { screen: "boards" }
  | { screen: "board"; id: string }
  | { screen: "board-form"; id: string }
  | { screen: "check"; board: string; corner: Corner; kind: CornerCheck }
  | { screen: "tension"; board: string; corner: Corner }
  | { screen: "entry"; board: string; id: string }
  | { screen: "care"; board: string; page: CarePage; corner?: Corner }
  | { screen: "records"; board: string }
  | { screen: "rings" }
  | { screen: "keep" }
  | { screen: "print" }
  | { screen: "camera" }
  | { screen: "about" };

/** The screen that a location's hash names; anything unknown leads to the boards. */
export function parseHash(hash: string): Route {
  const parts = hash.replace(/^#\/?/, "").split("/").filter(Boolean).map(decodeURIComponent);
  const [head, first, second, third, fourth] = parts;
  if (head === "board" && first === "new") return { screen: "board-form", id: "" };
  if (head === "board" && first && second === "edit") return { screen: "board-form", id: first };
  if (head === "board" && first && (third === "left" || third === "right")) {
    const kind = CORNER_CHECKS.find((known) => known === (fourth ?? "gap"));
    if (second === "check" && kind) return { screen: "check", board: first, corner: third, kind };
    if (second === "tension") return { screen: "tension", board: first, corner: third };
  }
  const page = CARE_PAGES.find((known) => known === third);
  if (head === "board" && first && second === "care" && page) {
    const corner = parts[4];
    return { screen: "care", board: first, page, ...(corner === "left" || corner === "right" ? { corner } : {}) };
  }
  if (head === "board" && first && second === "entry" && third) return { screen: "entry", board: first, id: third };
  if (head === "board" && first && second === "records") return { screen: "records", board: first };
  if (head === "board" && first) return { screen: "board", id: first };
  if (head === "rings" || head === "print" || head === "keep" || head === "camera" || head === "about") return { screen: head };
  return { screen: "boards" };
}

/** The hash that names a screen: the inverse of `parseHash`. */
export function hashOf(route: Route): string {
  const safe = encodeURIComponent;
  switch (route.screen) {
    case "board":
      return `#/board/${safe(route.id)}`;
    case "board-form":
      return route.id === "" ? "#/board/new" : `#/board/${safe(route.id)}/edit`;
    case "check":
      return `#/board/${safe(route.board)}/check/${route.corner}${route.kind === "gap" ? "" : `/${route.kind}`}`;
    case "tension":
      return `#/board/${safe(route.board)}/tension/${route.corner}`;
    case "entry":
      return `#/board/${safe(route.board)}/entry/${safe(route.id)}`;
    case "care":
      return `#/board/${safe(route.board)}/care/${route.page}${route.corner ? `/${route.corner}` : ""}`;
    case "records":
      return `#/board/${safe(route.board)}/records`;
    default:
      return `#/${route.screen}`;
  }
}
