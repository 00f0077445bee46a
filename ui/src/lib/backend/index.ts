import type { Backend } from "./backend";

let chosen: Backend | undefined;

/** The backend this page was built for. `openBackend` must have finished. */
export function backend(): Backend {
  if (!chosen) throw new Error("the backend has not been opened");
  return chosen;
}

/** Picks the backend; the other one is left out of the build. */
export async function openBackend(): Promise<void> {
  if (import.meta.env.MODE === "recorded") {
    chosen = (await import("./recorded")).recordedBackend();
  } else {
    chosen = (await import("./tauri")).tauriBackend;
  }
}

export type { Backend, Paper, Sheet } from "./backend";
export type { ExportFormat } from "./keeping";
export type * from "./types";
