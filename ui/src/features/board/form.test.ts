import { afterEach, describe, expect, it } from "vitest";
import type { DriveDescription } from "../../lib/backend";
import recorded from "../../lib/backend/recorded/care.json";
import { words } from "../../lib/words/words.svelte";
import { boardEntry, boardOf, boardProblems, NEW_BOARD } from "./form";

afterEach(() => words.speak("en"));

describe("board form", () => {
  it("gives back the board it was filled from", () => {
    const board = {
      ...NEW_BOARD,
      id: "7",
      name: "Kestrel 2",
      drive: { ...NEW_BOARD.drive, mount_chamfer: 0.15, motor_slide: [-0.4, 0.6] as [number, number] },
    };
    expect(boardOf("7", boardEntry(board))).toEqual(board);
  });

  it.each(["de", "fr"] as const)("is filled with the decimal mark of %s, and understood with it", (language) => {
    words.speak(language);
    const board = { ...NEW_BOARD, id: "7", name: "x", drive: { ...NEW_BOARD.drive, mount_chamfer: 0.15 } };
    const entry = boardEntry(board);
    expect([entry.sizes.mountChamfer, entry.slideIn]).toEqual(["0,15", "0,5"]);
    expect(boardProblems(entry)).toEqual({});
    expect(boardOf("7", entry)).toEqual(board);
  });

  it("keeps a description that it does not show", () => {
    const description = recorded.form.starting as DriveDescription;
    const board = { ...NEW_BOARD, id: "7", name: "x", drive: { ...NEW_BOARD.drive, description } };
    expect(boardOf("7", boardEntry(board)).drive.description).toEqual(description);
  });

  it("wants a name", () => {
    expect(Object.keys(boardProblems(boardEntry(NEW_BOARD)))).toEqual(["name"]);
  });

  it("names every field that cannot be", () => {
    const entry = boardEntry({ ...NEW_BOARD, name: "x" });
    entry.slideIn = "-1";
    entry.stackLimit = "0";
    entry.corners[1].thickness = "thick";
    expect(Object.keys(boardProblems(entry)).sort()).toEqual(["slideIn", "stackLimit", "thickness1"]);
  });
});
