import type { Backend } from "./backend";
import { RECORDED_ADVICE, recordedResult, RECORDED_STOCK } from "./recorded/answers";
import { checkPhoto, checkPicture, checkResult } from "./recorded/checks";
import { recordedPast } from "./recorded/past";
import { recordedCare } from "./recorded/care";
import { recordedLook } from "./recorded/live";
import { recordedTension } from "./recorded/tension";
import recorded from "./recorded/gap.json";
import { recordedPhones } from "./recorded/phones";
import { recordedKeeping } from "./recorded/keeping";
import first from "./recorded/gap-1.jpg";
import second from "./recorded/gap-2.jpg";
import third from "./recorded/gap-3.jpg";
import type { Board, Failure, HistoryEntry, KeptCamera, Measured, MeasureRequest, PhotoAdded, ProgressNote, SpacerStock } from "./types";

const PICTURES = [first, second, third];
const PHOTOS = recorded.photos as PhotoAdded[];
// A JSON file's type knows lists of numbers, not pairs.
const MARKS = recorded.marks as unknown as { [key in string]: [number, number][] };

const STEPS = ["finding the card", "solving the views", "finding the edges", "weighing the answer"];
const STEP_MS = 120;

interface Kept {
  boards: Board[];
  stock: SpacerStock[];
  history: Map<string, HistoryEntry[]>;
  /** Object URLs of photos that are not among the recorded ones. */
  pictures: Map<string, string>;
  drafts: Map<string, { request: MeasureRequest; measured: Measured }>;
  cameras: KeptCamera[];
}

function failure(code: Failure["code"], message: string, hint: string): Failure {
  return { code, message, hint };
}

const DEMO: Board = {
  id: "demo",
  name: "Kestrel 2",
  owner: "Tidewheel Works, demo",
  notes: "",
  drive: {
    rim_diameter: 99,
    mount_chamfer: 0.15,
    rim_chamfer: 0.1,
    located: "wheel",
    minimum_gap: 0.5,
    motor_slide: [-0.5, 0.5],
    same_spacer_everywhere: true,
    stack_limit: 1,
  },
  corners: [
    { spacer_label: "7/16 in", spacer_thickness: 11.11, belt_offset: -0.4, belt_offset_u95: 0.2 },
    { spacer_label: "7/16 in", spacer_thickness: 11.11, belt_offset: 0.2, belt_offset_u95: 0.2 },
  ],
};

/** The camera of the recorded photos, once it is kept. */
const CAMERA: KeptCamera = { id: "larkspur.json", name: "Larkspur L-20 Test", demo: false, focal_mm: 5.4, width: 2816, height: 2112 };

const pause = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

/** Whether a test wants a measurement that goes on until it is cancelled. */
const isHeld = (): boolean => globalThis.sessionStorage?.getItem("measuring") === "held";

const nameOf = (id: string): string => PHOTOS.find((photo) => photo.id === id)?.name ?? id;

/** A copy, as everything that came over the bridge is one. */
const copy = <T>(value: T): T => JSON.parse(JSON.stringify(value)) as T;

/**
 * Recorded answers in place of the window's commands: for tests and pictures, which then need no window.
 * It measures nothing. A file is told by its name: those of the recorded photos give their targets.
 */
export function recordedBackend(): Backend {
  const kept: Kept = { boards: [], stock: [], history: new Map(), pictures: new Map(), drafts: new Map(), cameras: [] };
  let cancelled = false;
  let ids = 0;

  const find = (id: string): Board => {
    const board = kept.boards.find((candidate) => candidate.id === id);
    if (!board) throw failure("not-found", "this board is not in the history", "go back to the list of boards");
    return board;
  };

  const run = async (progress: (note: ProgressNote) => void): Promise<void> => {
    cancelled = false;
    for (const [index, step] of STEPS.entries()) {
      progress({ step, done: index / STEPS.length });
      do await pause(STEP_MS);
      while (isHeld() && !cancelled);
      if (cancelled) throw failure("cancelled", "the measurement was cancelled", "start it again whenever you like");
    }
  };

  return {
    ...recordedCare(find),
    ...recordedPhones((check) => (check === "gap" ? PHOTOS.slice(0, 2) : [1, 2, 3, 4, 5].flatMap((n) => checkPhoto(`wheel-${n}.jpg`) ?? []))),
    ...recordedKeeping(() => ({ boards: kept.boards, history: kept.history })),
    async boards(find, most) {
      const words = find.toLowerCase().split(/\s+/);
      const found = kept.boards.filter((board) => {
        const text = `${board.name}\n${board.owner}\n${board.notes}`.toLowerCase();
        return words.every((word) => text.includes(word));
      });
      const boards = found.slice(0, most).map((board) => {
        const history = kept.history.get(board.id) ?? [];
        return { id: board.id, name: board.name, owner: board.owner, checks: history.length, last_check: history[0]?.at };
      });
      return { boards, all: found.length };
    },
    async board(id) {
      return copy({ board: find(id), history: kept.history.get(id) ?? [] });
    },
    async saveBoard(board) {
      const saved = copy(board);
      if (saved.id === "") saved.id = `board-${(ids += 1)}`;
      kept.boards = [...kept.boards.filter((other) => other.id !== saved.id), saved];
      return copy(saved);
    },
    async deleteBoard(id) {
      kept.boards = kept.boards.filter((board) => board.id !== id);
    },
    async stock() {
      return copy(kept.stock);
    },
    async saveStock(stock) {
      kept.stock = copy(stock);
    },
    async loadDemo() {
      if (!kept.boards.some((board) => board.id === DEMO.id)) kept.boards = [...kept.boards, copy(DEMO)];
      if (new URLSearchParams(globalThis.location?.search).has("past")) kept.history.set(DEMO.id, recordedPast(DEMO));
      if (kept.stock.length === 0) kept.stock = copy(RECORDED_STOCK);
      if (kept.cameras.length === 0) kept.cameras = [{ ...CAMERA, demo: true }];
      return copy(DEMO);
    },
    async addDemoPhotos() {
      await pause(STEP_MS);
      return copy({
        photos: PHOTOS,
        job: {
          check: "gap" as const,
          photos: PHOTOS.map((photo, index) => ({ file: photo.id, marks: index === 0 ? MARKS : {} })),
          targets: { fixed: "mount-card" },
          print_scale: { x: 1, y: 1, u95: 0.001 },
        },
      });
    },
    async addPhoto(name, bytes, glimpsed) {
      await pause(STEP_MS);
      if (bytes.byteLength === 0) throw failure("bad-input", "the file is empty", "choose the photo once more from the camera's folder");
      const known = PHOTOS.find((photo) => photo.name === name) ?? checkPhoto(name);
      if (known) {
        const { id, width, height, found } = known;
        glimpsed?.({ id, name: known.name, width, height, drawn: found.flatMap((target) => target.drawn.filter(({ what }) => what === "target")) });
        await pause(STEP_MS);
        return copy(known);
      }
      if (!/\.(jpe?g|png|tiff?|webp)$/i.test(name)) {
        throw failure("bad-input", "this file is not a photo that can be read", "hand in JPEG, PNG, TIFF or WebP");
      }
      const url = URL.createObjectURL(new Blob([bytes]));
      const picture = new Image();
      picture.src = url;
      await picture.decode().catch(() => {
        throw failure("bad-input", "the picture is cut short after half of its lines", "copy it from the camera once more");
      });
      const id = `photo-${(ids += 1)}`;
      kept.pictures.set(id, url);
      const notes = ["no printed card is in view: lay the mount card beside the gap and take the photo again"];
      return { id, name, width: picture.naturalWidth, height: picture.naturalHeight, camera: "", found: [], notes };
    },
    async look(request) {
      await pause(STEP_MS);
      return recordedLook(request);
    },
    async addSound(name, bytes) {
      await pause(STEP_MS);
      if (bytes.byteLength === 0 || !/\.wav$/i.test(name)) {
        throw failure("bad-input", `${name}: this is not a WAV file`, "save the recording as WAV, or record it in the app");
      }
      return { id: `sound-${(ids += 1)}`, name, seconds: 6.2, clipped: false };
    },
    async forgetPhotos() {},
    async measure(asked, progress) {
      const request = copy(asked);
      await run(progress);
      const { check } = request.job;
      if (check !== "gap") {
        const files = request.job.photos.map((photo) => photo.file);
        const result = check === "tension" ? recordedTension() : checkResult(check, files, request.job);
        // The screw's direction as the workshop would read it off the mark.
        const screw = request.job.photos.some((photo) => photo.marks?.["screw_1"]);
        const drive = { ...request.job.drive, ...(screw ? { mark_screw_angle: 62 } : {}) };
        const answered: Measured = { draft_id: `draft-${(ids += 1)}`, result, drive };
        request.job.drive = drive;
        kept.drafts.set(answered.draft_id, { request, measured: answered });
        return copy(answered);
      }
      const seen = request.job.photos.filter((photo) => PHOTOS.some((known) => known.id === photo.file));
      if (seen.length === 0) {
        throw failure("not-measurable", "the mount card was found in none of the photos", "stick the card beside the gap and photograph it again");
      }
      if (seen.length === 1 && !request.job.height) {
        throw failure("not-measurable", "one view alone cannot tell height from distance", "add a second photo from another side");
      }
      const measured: Measured = { draft_id: `draft-${(ids += 1)}`, result: recordedResult(request), advice: RECORDED_ADVICE };
      kept.drafts.set(measured.draft_id, { request, measured });
      return copy(measured);
    },
    async proposeMarks(request, progress) {
      await run(progress);
      const photos = request.job.photos.map(({ file }) => ({ file, marks: PHOTOS[0]?.id === file ? MARKS : {} }));
      const edges = [
        { mark: "mount_edge", quality: 0.97 },
        { mark: "rim_edge", quality: 0.82 },
      ];
      return copy({ edges, photos, notes: [] });
    },
    async carryMarks(_from, _to, marks) {
      await pause(STEP_MS);
      return copy({ marks });
    },
    async calibrate(request, progress) {
      await run(progress);
      const result = checkResult("camera", request.photo_ids);
      return copy({ draft_id: `draft-${(ids += 1)}`, result, camera: "Larkspur L-20 Test" });
    },
    async keepCamera() {
      kept.cameras = [copy(CAMERA)];
      return copy(kept.cameras);
    },
    async cameras() {
      return copy(kept.cameras);
    },
    async forgetCamera(id) {
      kept.cameras = kept.cameras.filter((camera) => camera.id !== id);
      return copy(kept.cameras);
    },
    async cancelMeasure() {
      cancelled = true;
    },
    async saveCheck(draftId, workDone) {
      const draft = kept.drafts.get(draftId);
      if (!draft) throw failure("not-found", "this answer is no longer at hand", "measure once more");
      const { request, measured } = draft;
      const entry: HistoryEntry = {
        id: `check-${(ids += 1)}`,
        at: "2026-03-14T15:09:00+01:00",
        corner: request.corner,
        fitted: (kept.boards.find((board) => board.id === request.board_id) ?? DEMO).corners[request.corner === "left" ? 0 : 1],
        result: measured.result,
        // A history tells photos by their file names, as the workshop's does.
        job: { ...request.job, photos: request.job.photos.map((photo) => ({ ...photo, file: nameOf(photo.file) })) },
        photo_ids: request.job.photos.map((photo) => photo.file),
        advice: measured.advice,
        work_done: workDone,
      };
      kept.history.set(request.board_id, [entry, ...(kept.history.get(request.board_id) ?? [])]);
      kept.drafts.delete(draftId);
      return copy(entry);
    },
    async dropDraft(draftId) {
      kept.drafts.delete(draftId);
    },
    async setWorkDone(checkId, workDone) {
      for (const history of kept.history.values()) {
        const entry = history.find((candidate) => candidate.id === checkId);
        if (entry) entry.work_done = workDone;
      }
    },
    async printTargets(sheet, paper) {
      const names = sheet === "all" ? ["mount-card", "hub-ring", "bench-sheet"] : [sheet];
      return { files: names.map((name) => `/home/rider/Documents/Shimwright/${name}-${paper}.pdf`) };
    },
    async appInfo() {
      return { version: "0.1.0", data_dir: "/home/rider/.local/share/shimwright" };
    },
    photoUrl(id) {
      const index = PHOTOS.findIndex((photo) => photo.id === id);
      return PICTURES[index] ?? checkPicture(id) ?? kept.pictures.get(id) ?? "";
    },
  };
}
