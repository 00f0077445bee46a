import type { Board, Corner } from "../../lib/backend";
import { GapCheck } from "./check.svelte";

let open = $state.raw<GapCheck | null>(null);

/** The one check that is under way. It stays when another screen is opened, so that nothing is lost on the way back. */
export const openCheck = {
  get now(): GapCheck | null {
    return open;
  },

  /** The check of a corner: the one under way when it is of that corner, else a new one. */
  async of(board: Board, corner: Corner): Promise<GapCheck> {
    if (open && open.board.id === board.id && open.corner === corner) return open;
    const before = open;
    open = new GapCheck(board, corner);
    await before?.drop();
    return open;
  },

  /** Whether a check of this board is under way, and of which corner. */
  cornerOf(boardId: string): Corner | null {
    return open && open.board.id === boardId && open.photos.length > 0 ? open.corner : null;
  },

  /** After saving: the history has it now. */
  finish(): void {
    open = null;
  },

  /** Lets go of the check and what belongs to it. */
  async discard(): Promise<void> {
    const before = open;
    open = null;
    await before?.drop();
  },
};
