import type { CareBackend } from "./care";
import type {
  AppInfo,
  Board,
  BoardDetail,
  BoardsShown,
  CalibrateRequest,
  Calibrated,
  CarriedMarks,
  Corner,
  DemoPhotos,
  HistoryEntry,
  KeptCamera,
  Look,
  LookRequest,
  Measured,
  MeasureRequest,
  PhotoAdded,
  PhotoGlimpse,
  PrintedSheets,
  ProgressNote,
  Proposal,
  SoundAdded,
  SpacerStock,
} from "./types";
import type { KeepingBackend } from "./keeping";
import type { PhonesBackend } from "./phones";

/** Which printed card, and on which paper. */
export type Sheet = "mount-card" | "hub-ring" | "bench-sheet" | "all";
export type Paper = "a4" | "letter";

/**
 * Everything the page may ask of the workshop behind it. Every call rejects with a `Failure`.
 *
 * Two forms exist: the window's commands, and recorded answers for tests and pictures.
 */
export interface Backend extends CareBackend, KeepingBackend, PhonesBackend {
  /** The first boards that hold the words `find`; no words find all. */
  boards(find: string, most: number): Promise<BoardsShown>;
  board(id: string): Promise<BoardDetail>;
  /** An empty id makes a new board; the answer carries the id it was given. */
  saveBoard(board: Board): Promise<Board>;
  deleteBoard(id: string): Promise<void>;
  stock(): Promise<SpacerStock[]>;
  saveStock(stock: SpacerStock[]): Promise<void>;
  loadDemo(): Promise<Board>;
  addDemoPhotos(corner: Corner): Promise<DemoPhotos>;
  /** Takes in a photo. `glimpsed` is called when it is known where its targets lie, before their corners are found. */
  addPhoto(name: string, bytes: ArrayBuffer, glimpsed?: (glimpse: PhotoGlimpse) => void): Promise<PhotoAdded>;
  /** Looks at a picture of the running camera: grey bytes, row by row. */
  look(request: LookRequest, grey: Uint8Array<ArrayBuffer>): Promise<Look>;
  /** Hands in a recording of plucks, a WAV file. */
  addSound(name: string, bytes: ArrayBuffer): Promise<SoundAdded>;
  forgetPhotos(ids: string[]): Promise<void>;
  /** `progress` is called while the promise is pending. */
  measure(request: MeasureRequest, progress: (note: ProgressNote) => void): Promise<Measured>;
  /** Edges of a gap check found without marks, to be looked at and confirmed; `progress` as for `measure`. */
  proposeMarks(request: MeasureRequest, progress: (note: ProgressNote) => void): Promise<Proposal>;
  /** Marks of one photo carried to another, a first guess to be dragged into place. */
  carryMarks(from: string, to: string, marks: CarriedMarks["marks"]): Promise<CarriedMarks>;
  /** Calibrates a camera from photos of the bench sheet; `progress` as for `measure`. */
  calibrate(request: CalibrateRequest, progress: (note: ProgressNote) => void): Promise<Calibrated>;
  /** Keeps a calibration for later checks; gives all that are kept. */
  keepCamera(draftId: string): Promise<KeptCamera[]>;
  cameras(): Promise<KeptCamera[]>;
  forgetCamera(id: string): Promise<KeptCamera[]>;
  cancelMeasure(): Promise<void>;
  saveCheck(draftId: string, workDone: string): Promise<HistoryEntry>;
  dropDraft(draftId: string): Promise<void>;
  setWorkDone(checkId: string, workDone: string): Promise<void>;
  printTargets(sheet: Sheet, paper: Paper): Promise<PrintedSheets>;
  appInfo(): Promise<AppInfo>;
  /** Where the page finds the picture of a photo. */
  photoUrl(id: string): string;
}
