import type { Corner } from "../../lib/backend";
import { PhotoCheck, type CheckPlace } from "./check.svelte";
import type { CornerCheck } from "../../lib/route/route";
import type { PhotoKind } from "./plans";

let open = $state.raw<PhotoCheck | null>(null);

function same(check: PhotoCheck, kind: PhotoKind, place: CheckPlace | null): boolean {
  return check.plan.kind === kind && check.place?.board.id === place?.board.id && check.place?.corner === place?.corner;
}

/** The one check that is under way. It stays when another screen is opened, so that nothing is lost on the way back. */
export const openCheck = {
  get now(): PhotoCheck | null {
    return open;
  },

  /** The check of a kind at a place: the one under way when it is that one, else a new one. */
  async of(kind: PhotoKind, place: CheckPlace | null): Promise<PhotoCheck> {
    if (open && same(open, kind, place)) return open;
    const before = open;
    open = new PhotoCheck(kind, place);
    await before?.drop();
    return open;
  },

  /** The check of this board that is under way, and at which corner. */
  on(boardId: string): { title: string; kind: CornerCheck; corner: Corner } | null {
    const place = open?.place;
    if (!open || !place || open.plan.kind === "camera" || place.board.id !== boardId || open.photos.length === 0) return null;
    return { title: open.plan.title, kind: open.plan.kind, corner: place.corner };
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

