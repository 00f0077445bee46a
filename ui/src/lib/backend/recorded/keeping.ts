import type { KeepingBackend } from "../keeping";
import type { Board, FilesTold, HistoryEntry, Shop, VisitNotes } from "../types";

const FOLDER = "/home/rider/Documents/Shimwright";
const SUM = "8f14e45fceea167a5a36dedd4bea2543a1f1c3b0d9f7e6a5b4c3d2e1f0a9b8c7";
const NO_NOTES: VisitNotes = { odometer_km: null, technician: "", parts: [], torques: [], remarks: "" };

interface Kept {
  boards: Board[];
  history: Map<string, HistoryEntry[]>;
}

const pause = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 80));

const told = (lines: string[], file?: string): FilesTold => ({ lines, trouble: [], ...(file ? { file } : {}) });

/** Recorded answers about records and keeping. A bundle whose name says `changed` does not hold. */
export function recordedKeeping(kept: () => Kept): KeepingBackend {
  let folder = FOLDER;
  let shop: Shop = { name: "", address: "", technician: "" };
  const notes = new Map<string, VisitNotes>();
  let backups = 0;
  let sealed = 0;
  let unnamed: string | undefined = "2 photos, 9.8 MB";

  return {
    async recordsOf(boardId) {
      const board = kept().boards.find((one) => one.id === boardId);
      const days = [...new Set((kept().history.get(boardId) ?? []).map((entry) => entry.at.slice(0, 10)))];
      return {
        board_name: board?.name ?? "",
        shop,
        visits: days.map((day) => ({
          id: day,
          day,
          checks: (kept().history.get(boardId) ?? []).filter((entry) => entry.at.startsWith(day)).length,
          notes: notes.get(day) ?? NO_NOTES,
        })),
        sealed,
      };
    },
    async saveShop(stated) {
      shop = stated;
    },
    async noteVisit(_board, visit, said) {
      notes.set(visit, said);
    },
    async writeRecord({ visit }) {
      await pause();
      return { file: `${folder}/Kestrel 2 ${visit} record.pdf`, fingerprint: SUM };
    },
    async writeBundle({ record, sign }) {
      await pause();
      sealed += 1;
      return {
        file: `${folder}/Kestrel 2 ${record.visit} bundle ${sealed}.zip`,
        fingerprint: SUM,
        sealed: { number: sealed, seal: SUM, ...(sign ? { public_key: SUM } : {}) },
      };
    },
    async verifyBundle(name, _bytes, progress) {
      progress({ step: "measuring again", done: 0.5 });
      await pause();
      const good = !name.includes("changed");
      return {
        file: name,
        holds: good,
        outcome: good ? "Everything that was looked at holds." : "This bundle does not hold.",
        about: "record 1 of Kestrel 2, sealed 2026-03-14T15:12:00+01:00",
        fingerprint: SUM,
        points: [
          {
            what: "Files",
            good,
            text: good ? "all 14 are as they were sealed, and so is every byte of the archive" : "CHANGED, see below (1 of 14 or more)",
          },
          { what: "Signature", good: true, text: "none: the sums show that the bundle is whole, not who made it" },
          { what: "Chain", good: true, text: "it is the first sealed record of the board" },
          ...(good ? [] : [{ what: "checks/01-left-gap/a.jpg", good, text: "its sum is not the one in the manifest" }]),
        ],
        numbers: good ? [{ what: "checks/01-left-gap, gap", stored: "1.42 ± 0.05 mm", measured: "1.42 ± 0.05 mm", good }] : [],
      };
    },
    async keeping() {
      await pause();
      const found = Array.from({ length: backups }, (_, index) => {
        const name = `backup 2026-03-14${index > 0 ? ` (${index + 1})` : ""}.tar`;
        return { path: `${folder}/${name}`, name, size: "31.4 MB", kind: "backup" as const };
      });
      return {
        out_folder: folder,
        photos: "6 photos, 29.5 MB; 3 further uses take no room, because equal photos are stored once",
        missing: [],
        copies: ["2026-03-14", "2026-03-13"],
        found,
        ...(unnamed ? { unnamed } : {}),
      };
    },
    async chooseFile() {
      return { path: "/media/stick/shop 2026-03-08.tar", name: "shop 2026-03-08.tar", size: "29.8 MB", kind: "backup" };
    },
    async chooseFolder() {
      return { path: "/media/stick/export 2026-03-08", name: "export 2026-03-08", size: "1.2 MB", kind: "export" };
    },
    async filesFolder() {
      return folder;
    },
    async chooseFilesFolder() {
      return (folder = "/media/stick");
    },
    async backUp(withPlace) {
      await pause();
      backups += 1;
      const copies = withPlace ? "" : ", 4 of them copies that do not tell where they were taken";
      return told([`31.4 MB with 6 photos${copies}`], `${folder}/backup 2026-03-14.tar`);
    },
    async restoreBackup() {
      await pause();
      return told(["the backup of 2026-03-14T15:20:00+01:00 with 6 photos is in place"]);
    },
    async restoreCopy() {
      await pause();
      return told(["the copy of 2026-03-14 is in place; what was saved after it is missing"]);
    },
    async exportHistory(format, withPhotos, withPlace) {
      await pause();
      const copies = withPlace ? "" : ", 4 of them copies that do not tell where they were taken";
      const lines = [`48 rows in 15 files; COLUMNS.md says what the columns mean`, ...(withPhotos ? [`6 photos${copies}`] : [])];
      return told(lines, `${folder}/export 2026-03-14 ${format}`);
    },
    async importHistory() {
      await pause();
      return told(["12 entries added, 36 were here already"]);
    },
    async cleanUpPhotos() {
      await pause();
      unnamed = undefined;
      return told(["2 photos removed, 9.8 MB freed"]);
    },
  };
}
