import type { Corner } from "../backend/types";

/** A screen and what it shows. */
export type Route =
  | { screen: "boards" }
  | { screen: "board"; id: string }
  | { screen: "board-form"; id: string }
  | { screen: "check"; board: string; corner: Corner }
  | { screen: "tension"; board: string; corner: Corner }
  | { screen: "entry"; board: string; id: string }
  | { screen: "rings" }
  | { screen: "print" }
  | { screen: "about" };

/** The screen that a location's hash names; anything unknown leads to the boards. */
export function parseHash(hash: string): Route {
  const parts = hash.replace(/^#\/?/, "").split("/").filter(Boolean).map(decodeURIComponent);
  const [head, first, second, third] = parts;
  if (head === "board" && first === "new") return { screen: "board-form", id: "" };
  if (head === "board" && first && second === "edit") return { screen: "board-form", id: first };
  if (head === "board" && first && (second === "check" || second === "tension") && (third === "left" || third === "right")) {
    return { screen: second, board: first, corner: third };
  }
  if (head === "board" && first && second === "entry" && third) return { screen: "entry", board: first, id: third };
  if (head === "board" && first) return { screen: "board", id: first };
  if (head === "rings" || head === "print" || head === "about") return { screen: head };
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
      return `#/board/${safe(route.board)}/check/${route.corner}`;
    case "tension":
      return `#/board/${safe(route.board)}/tension/${route.corner}`;
    case "entry":
      return `#/board/${safe(route.board)}/entry/${safe(route.id)}`;
    default:
      return `#/${route.screen}`;
  }
}
