import { describe, expect, it } from "vitest";
import type { BoardsShown } from "../../lib/backend";
import { BoardsWindow, STEP } from "./window.svelte";

const names = Array.from({ length: 150 }, (_, index) => `Board ${index}`);

function answer(find: string, most: number): BoardsShown {
  const found = names.filter((name) => name.includes(find));
  return {
    boards: found.slice(0, most).map((name) => ({ id: name, name, owner: "", checks: 0 })),
    all: found.length,
  };
}

describe("the window over the boards", () => {
  it("grows by steps until all are shown", async () => {
    const boards = new BoardsWindow(async (find, most) => answer(find, most));
    await boards.load();
    expect([boards.shown?.boards.length, boards.more, boards.searchable]).toEqual([STEP, 90, true]);
    await boards.further();
    await boards.further();
    expect([boards.shown?.boards.length, boards.more]).toEqual([150, 0]);
  });

  it("begins again when something is looked for, and tells nothing found from nothing there", async () => {
    const boards = new BoardsWindow(async (find, most) => answer(find, most));
    await boards.load();
    await boards.further();
    await boards.look("Board 14");
    expect([boards.shown?.all, boards.more]).toEqual([11, 0]);
    await boards.look("Heron");
    expect([boards.shown?.all, boards.none, boards.searchable]).toEqual([0, false, true]);
    const empty = new BoardsWindow(async () => ({ boards: [], all: 0 }));
    await empty.load();
    expect([empty.none, empty.searchable]).toEqual([true, false]);
  });

  it("keeps the answer to the latest words, whenever an earlier one comes", async () => {
    const waiting: (() => void)[] = [];
    const boards = new BoardsWindow(async (find, most) => {
      await new Promise<void>((resolve) => waiting.push(resolve));
      return answer(find, most);
    });
    const first = boards.look("Board 1");
    const second = boards.look("Board 2");
    waiting[1]?.();
    await second;
    waiting[0]?.();
    await first;
    expect(boards.shown?.boards[0]?.name).toBe("Board 2");
  });

  it("says what keeps the list away", async () => {
    const boards = new BoardsWindow(async () => {
      throw new Error("no");
    });
    await boards.load();
    expect(boards.failure?.code).toBe("internal");
  });
});
