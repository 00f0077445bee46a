import type { Board, Corner } from "../../lib/backend";
import { PhotoCheck, type CheckPlace } from "./check.svelte";
import { draft } from "./draft";
import type { CornerCheck } from "../../lib/route/route";
import type { PlainKey } from "../../lib/words/catalogue";
import type { PhotoKind } from "./plans";

let open = $state.raw<PhotoCheck | null>(null);

function same(check: PhotoCheck, kind: PhotoKind, place: CheckPlace | null): boolean {
  return check.plan.kind === kind && check.place?.board.id === place?.board.id && check.place?.corner === place?.corner;
}

let restoring: Promise<void> | null = null;

async function takeUp(board: Board | null): Promise<void> {
  if (open) return;
  const kept = await draft.read();
  if (!kept || kept.board !== (board?.id ?? null) || kept.photos.length === 0) return;
  const restored = await PhotoCheck.restored(kept, board ? { board, corner: kept.corner } : null);
  // The demo's photos are not kept, and a check without photos is none.
  if (restored.photos.length > 0 && !open) open = restored;
}

/** The one check that is under way. It stays when another screen is opened, so that nothing is lost on the way back. */
export const openCheck = {
  get now(): PhotoCheck | null {
    return open;
  },

  /** Takes up a check that was kept of this board (or of a camera, without one), unless one is under way. */
  async restore(board: Board | null): Promise<void> {
    restoring ??= takeUp(board).finally(() => (restoring = null));
    await restoring;
  },

  /** The check of a kind at a place: the one under way when it is that one, else a new one. */
  async of(kind: PhotoKind, place: CheckPlace | null): Promise<PhotoCheck> {
    await this.restore(place?.board ?? null);
    if (open && same(open, kind, place)) return open;
    const before = open;
    open = new PhotoCheck(kind, place);
    await draft.clear();
    await before?.drop();
    return open;
  },

  /** The check of this board that is under way, and at which corner. */
  on(boardId: string): { title: PlainKey; kind: CornerCheck; corner: Corner } | null {
    const place = open?.place;
    if (!open || !place || open.plan.kind === "camera" || place.board.id !== boardId || open.photos.length === 0) return null;
    return { title: open.plan.title, kind: open.plan.kind, corner: place.corner };
  },

  /** After saving: the history has it now. */
  async finish(): Promise<void> {
    open = null;
    await draft.clear();
  },

  /** Lets go of the check and what belongs to it. */
  async discard(): Promise<void> {
    const before = open;
    open = null;
    await draft.clear();
    await before?.drop();
  },
};

