import type {
  BundleRequest,
  BundleVerified,
  FileFound,
  FilesTold,
  Keeping,
  ProgressNote,
  RecordRequest,
  RecordsOfBoard,
  RecordWritten,
  Shop,
  VisitNotes,
} from "./types";

export type ExportFormat = "csv" | "json";

/** What the page may ask about records, bundles, backups, exports, imports and photos. */
export interface KeepingBackend {
  recordsOf(boardId: string): Promise<RecordsOfBoard>;
  saveShop(stated: Shop): Promise<void>;
  noteVisit(boardId: string, visit: string, notes: VisitNotes): Promise<void>;
  writeRecord(request: RecordRequest): Promise<RecordWritten>;
  writeBundle(request: BundleRequest): Promise<RecordWritten>;
  /** `progress` is called while the promise is pending. */
  verifyBundle(name: string, bytes: ArrayBuffer, progress: (note: ProgressNote) => void): Promise<BundleVerified>;
  keeping(): Promise<Keeping>;
  /** Lets a backup or a bundle be chosen in the system's dialog; nothing when it was closed. */
  chooseFile(): Promise<FileFound | null>;
  /** Lets the folder of an export or of a history be chosen; nothing when the dialog was closed. */
  chooseFolder(): Promise<FileFound | null>;
  /** Where files are written. */
  filesFolder(): Promise<string>;
  /** Lets that folder be chosen; gives the one that it is then. */
  chooseFilesFolder(): Promise<string>;
  /** `withPlace`: photos untouched, with the place where they were taken; asked for each time. */
  backUp(withPlace: boolean): Promise<FilesTold>;
  restoreBackup(file: string): Promise<FilesTold>;
  restoreCopy(): Promise<FilesTold>;
  exportHistory(format: ExportFormat, withPhotos: boolean, withPlace: boolean): Promise<FilesTold>;
  importHistory(from: string, keepBoth: boolean): Promise<FilesTold>;
  cleanUpPhotos(): Promise<FilesTold>;
}
