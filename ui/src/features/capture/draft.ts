import type { Corner, Proposal } from "../../lib/backend";
import type { PhotoMarks } from "../marking/marks";
import type { PhotoKind, Step } from "./plans";
import type { BarEntry } from "./scale";
import type { HeightEntry, SizeEntry } from "./sizes";

/** A check under way as it is kept, so that a crash or a locked phone costs nothing. Photos lie beside it, by their ids. */
export interface KeptCheck {
  kind: PhotoKind;
  /** Without a board it is a camera that is measured. */
  board: string | null;
  corner: Corner;
  step: Step;
  photos: { id: string; name: string; marks: PhotoMarks }[];
  chosen: string[];
  bars: BarEntry;
  sizes: SizeEntry;
  heights: HeightEntry;
  /** Marks that were proposed and that nobody has confirmed yet. */
  proposal?: Proposal | null;
}

const NAME = "shimwright-check";
const CHECK = "check";
const PHOTOS = "photos";
/** The one check under way. */
const KEY = "now";
/** A drag changes marks many times a second; so long it may rest before it is written, ms. */
const REST_MS = 300;

function finished<T>(request: IDBRequest<T>): Promise<T> {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error ?? new Error("the draft cannot be kept"));
  });
}

async function inStore<T>(name: string, mode: IDBTransactionMode, work: (store: IDBObjectStore) => IDBRequest<T>): Promise<T | null> {
  // Storage can be switched off; a check then lasts until the program ends.
  if (typeof indexedDB === "undefined") return null;
  try {
    const opening = indexedDB.open(NAME, 1);
    opening.onupgradeneeded = () => {
      opening.result.createObjectStore(CHECK);
      opening.result.createObjectStore(PHOTOS);
    };
    const base = await finished(opening);
    try {
      return await finished(work(base.transaction(name, mode).objectStore(name)));
    } finally {
      base.close();
    }
  } catch {
    return null;
  }
}

let waiting: ReturnType<typeof setTimeout> | undefined;

/** Keeps the check under way in the web view's own storage. */
export const draft = {
  /** Writes the check down once it has rested for a moment. */
  keep(check: KeptCheck): void {
    clearTimeout(waiting);
    waiting = setTimeout(() => void inStore(CHECK, "readwrite", (store) => store.put(check, KEY)), REST_MS);
  },

  async keepPhoto(id: string, bytes: ArrayBuffer): Promise<void> {
    await inStore(PHOTOS, "readwrite", (store) => store.put(bytes, id));
  },

  async forgetPhoto(id: string): Promise<void> {
    await inStore(PHOTOS, "readwrite", (store) => store.delete(id));
  },

  async read(): Promise<KeptCheck | null> {
    return ((await inStore(CHECK, "readonly", (store) => store.get(KEY))) as KeptCheck | null | undefined) ?? null;
  },

  async photo(id: string): Promise<ArrayBuffer | null> {
    return ((await inStore(PHOTOS, "readonly", (store) => store.get(id))) as ArrayBuffer | null | undefined) ?? null;
  },

  /** The check was saved or thrown away, or another one was begun. */
  async clear(): Promise<void> {
    clearTimeout(waiting);
    await inStore(CHECK, "readwrite", (store) => store.clear());
    await inStore(PHOTOS, "readwrite", (store) => store.clear());
  },
};
