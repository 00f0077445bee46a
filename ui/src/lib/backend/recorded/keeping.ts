import type { KeepingBackend } from "../keeping";
import type { Board, FilesTold, HistoryEntry, Phrase, PhraseValue, Shop, VisitNotes } from "../types";

const FOLDER = "/home/rider/Documents/Shimwright";
const SUM = "8f14e45fceea167a5a36dedd4bea2543a1f1c3b0d9f7e6a5b4c3d2e1f0a9b8c7";
const NO_NOTES: VisitNotes = { odometer_km: null, technician: "", parts: [], torques: [], remarks: "" };

interface Kept {
  boards: Board[];
  history: Map<string, HistoryEntry[]>;
}

const pause = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 80));

/** A phrase by its template: a number or a phrase in each place, and a text in quotes where it stands as it is. */
function phrase(code: string, values: Record<string, number | string | Phrase> = {}): Phrase {
  const places = Object.entries(values).map(([name, value]): [string, PhraseValue] => {
    if (typeof value === "number") return [name, { is: "number", value }];
    return [name, typeof value === "string" ? { is: "text", text: value } : { is: "words", words: value }];
  });
  const shown = (value: number | string | Phrase | undefined): string => (typeof value === "object" ? value.text : String(value));
  return { code, text: code.replace(/\{(\w+)\}/g, (_, name: string) => shown(values[name])), values: Object.fromEntries(places) };
}

const photos = (count: number): Phrase => phrase("{count} photos", { count });
const megabytes = (size: number): Phrase => phrase("{0} MB", { 0: size });
/** Photos that went out, with or without their place. */
const gone = (withPlace: boolean): Phrase =>
  withPlace ? photos(6) : phrase("{0}, {copies} of them copies that do not tell where they were taken", { 0: photos(6), copies: 4 });
const GAP: Phrase = { code: "{number}", text: "1.42 ± 0.05 mm", values: { number: { is: "length", mm: 1.42, u95: 0.05 } } };

const told = (lines: Phrase[], file?: string): FilesTold => ({ lines, trouble: [], ...(file ? { file } : {}) });

/** Recorded answers about records and keeping. A bundle whose name says `changed` does not hold. */
export function recordedKeeping(kept: () => Kept): KeepingBackend {
  let folder = FOLDER;
  let shop: Shop = { name: "", address: "", technician: "" };
  const notes = new Map<string, VisitNotes>();
  let backups = 0;
  let sealed = 0;
  let unnamed: Phrase | undefined = phrase("{0}, {1}", { 0: photos(2), 1: megabytes(9.8) });

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
        outcome: phrase(good ? "Everything that was looked at holds." : "This bundle does not hold."),
        about: phrase("record {0} of {1}, sealed {2}", { 0: 1, 1: "Kestrel 2", 2: "2026-03-14T15:12:00+01:00" }),
        fingerprint: SUM,
        points: [
          {
            what: phrase("Files"),
            good,
            text: good
              ? phrase("all {0} are as they were sealed, and so is every byte of the archive", { 0: 14 })
              : phrase("CHANGED, see below ({0} of {1} or more)", { 0: 1, 1: 14 }),
          },
          { what: phrase("Signature"), good: true, text: phrase("none: the sums show that the bundle is whole, not who made it") },
          { what: phrase("Chain"), good: true, text: phrase("it is the first sealed record of the board") },
          ...(good ? [] : [{ what: phrase("{path}", { path: "checks/01-left-gap/a.jpg" }), good, text: phrase("its SHA-256 is not the one in the manifest") }]),
        ],
        numbers: good ? [{ check: "checks/01-left-gap", value: "gap", stored: GAP, measured: GAP, good }] : [],
      };
    },
    async keeping() {
      await pause();
      const found = Array.from({ length: backups }, (_, index) => {
        const name = `backup 2026-03-14${index > 0 ? ` (${index + 1})` : ""}.tar`;
        return { path: `${folder}/${name}`, name, size: megabytes(31.4), kind: "backup" as const };
      });
      return {
        out_folder: folder,
        photos: phrase("{room}; {shared} further uses take no room, because equal photos are stored once", {
          room: phrase("{0}, {1}", { 0: photos(6), 1: megabytes(29.5) }),
          shared: 3,
        }),
        missing: [],
        copies: ["2026-03-14", "2026-03-13"],
        found,
        ...(unnamed ? { unnamed } : {}),
      };
    },
    async chooseFile() {
      return { path: "/media/stick/shop 2026-03-08.tar", name: "shop 2026-03-08.tar", size: megabytes(29.8), kind: "backup" };
    },
    async chooseFolder() {
      return { path: "/media/stick/export 2026-03-08", name: "export 2026-03-08", size: megabytes(1.2), kind: "export" };
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
      return told([phrase("{0} with {1}", { 0: megabytes(31.4), 1: gone(withPlace) })], `${folder}/backup 2026-03-14.tar`);
    },
    async restoreBackup() {
      await pause();
      return told([phrase("the backup of {0} with {1} is in place", { 0: "2026-03-14T15:20:00+01:00", 1: photos(6) })]);
    },
    async restoreCopy() {
      await pause();
      return told([phrase("the copy of {0} is in place; what was saved after it is missing", { 0: "2026-03-14" })]);
    },
    async exportHistory(format, withPhotos, withPlace) {
      await pause();
      const rows = phrase("{rows} rows in {0} files; COLUMNS.md says what the columns mean", { rows: 48, 0: 15 });
      const lines = [rows, ...(withPhotos ? [gone(withPlace)] : [])];
      return told(lines, `${folder}/export 2026-03-14 ${format}`);
    },
    async importHistory() {
      await pause();
      return told([phrase("{added} entries added, {0} were here already", { added: 12, 0: 36 })]);
    },
    async cleanUpPhotos() {
      await pause();
      unnamed = undefined;
      return told([phrase("{0} removed, {1} freed", { 0: photos(2), 1: megabytes(9.8) })]);
    },
  };
}
