import { describe, expect, it } from "vitest";
import { hashOf, parseHash, type Route } from "./route";

const ROUTES: Route[] = [
  { screen: "boards" },
  { screen: "board", id: "0198-a" },
  { screen: "board-form", id: "" },
  { screen: "board-form", id: "0198-a" },
  { screen: "check", board: "0198-a", corner: "right", kind: "gap" },
  { screen: "check", board: "0198-a", corner: "left", kind: "turn" },
  { screen: "tension", board: "0198-a", corner: "left" },
  { screen: "entry", board: "0198-a", id: "c/1" },
  { screen: "care", board: "0198-a", page: "torques" },
  { screen: "care", board: "0198-a", page: "recentre", corner: "right" },
  { screen: "records", board: "0198-a" },
  { screen: "rings" },
  { screen: "keep" },
  { screen: "print" },
  { screen: "camera" },
  { screen: "about" },
];

describe("routes", () => {
  it.each(ROUTES)("$screen survives the way through the hash", (route) => {
    expect(parseHash(hashOf(route))).toEqual(route);
  });

  it.each(["", "#", "#/", "#/nowhere", "#/board", "#/board/x/check/middle", "#/board/x/check/left/weight"])("%s leads to a screen that exists", (hash) => {
    expect(["boards", "board"]).toContain(parseHash(hash).screen);
  });
});
