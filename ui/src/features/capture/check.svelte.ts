import { backend, type Board, type Corner, type Failure, type Job, type Measured, type PhotoAdded, type ProgressNote } from "../../lib/backend";
import { toFailure } from "../../lib/errors/failure";
import { complete, forJob, fromJob } from "../marking/marks";
import { MarkTrail } from "../marking/trail.svelte";
import { driveEntry, driveProblems, jobDrive, type DriveEntry } from "./drive";
import { heightProblems, jobHeight, type HeightEntry } from "./height";
import { BAR_MM, barProblem, printScale, type BarEntry } from "./scale";

/** The steps of a gap check, in order. */
export const STEPS = ["ready", "photos", "edges", "sizes", "answer"] as const;
export type Step = (typeof STEPS)[number];

export const STEP_WORDS: Record<Step, string> = {
  ready: "Get ready",
  photos: "Photos",
  edges: "Edges",
  sizes: "Sizes",
  answer: "Answer",
};

/** A photo of the check and the marks made on it. */
export interface CheckPhoto {
  added: PhotoAdded;
  trail: MarkTrail;
}

/** A file that could not be taken, and why. */
export interface Refused {
  name: string;
  failure: Failure;
}

/** A handed-in file, as a picker, a drop or a paste gives it. */
export interface HandedIn {
  name: string;
  arrayBuffer(): Promise<ArrayBuffer>;
}

/** One gap check on one corner, from the first photo to the saved answer. */
export class GapCheck {
  step = $state<Step>("ready");
  photos = $state.raw<CheckPhoto[]>([]);
  refused = $state.raw<Refused[]>([]);
  /** How many files are being looked at. */
  reading = $state(0);
  bars = $state<BarEntry>({ measured: true, tool: "calliper", x: "", y: "" });
  drive = $state<DriveEntry>({ rimDiameter: "", mountChamfer: "", rimChamfer: "", minimumGap: "" });
  heights = $state<HeightEntry>({ stated: false, mount: "", rim: "", u95: "0.5" });
  /** The progress of a running measurement. */
  progress = $state.raw<ProgressNote | null>(null);
  measuring = $state(false);
  failure = $state.raw<Failure | null>(null);
  measured = $state.raw<Measured | null>(null);
  workDone = $state("");
  saving = $state(false);

  readonly board: Board;
  readonly corner: Corner;
  #base: Partial<Job> = {};

  constructor(board: Board, corner: Corner) {
    this.board = board;
    this.corner = corner;
    this.drive = driveEntry(board.drive);
  }

  /** Why the next step cannot be taken yet, in words; nothing when it can. */
  blocker(step: Step = this.step): string | null {
    if (step === "photos" && this.reading > 0) return "Looking at the photos…";
    if (step === "photos" && this.photos.length === 0) return "Add at least one photo.";
    if (step === "edges" && !this.photos.some((photo) => complete(photo.trail.now))) {
      return "Mark both edges in at least one photo.";
    }
    if (step === "sizes" && !this.sizesComplete) return "Fill in the sizes, or say that you have not measured the bars.";
    return null;
  }

  get sizesComplete(): boolean {
    const barsFine = !this.bars.measured || (barProblem(this.bars.x) === null && barProblem(this.bars.y) === null);
    const heightsFine = !this.heightsApply || Object.keys(heightProblems(this.heights)).length === 0;
    return barsFine && heightsFine && Object.keys(driveProblems(this.drive)).length === 0;
  }

  /** One photo alone cannot tell height from distance: only then may heights be stated. */
  get heightsApply(): boolean {
    return this.photos.length === 1 && this.heights.stated;
  }

  /** Whether a step can be opened: every step before it is done. */
  canOpen(step: Step): boolean {
    if (step === "answer") return this.measured !== null || this.measuring;
    const before = STEPS.slice(0, STEPS.indexOf(step));
    return before.every((earlier) => this.blocker(earlier) === null);
  }

  async addFiles(files: HandedIn[]): Promise<void> {
    for (const file of files) {
      this.reading += 1;
      try {
        const added = await backend().addPhoto(file.name, await file.arrayBuffer());
        this.#take(added, new MarkTrail());
      } catch (thrown) {
        this.refused = [...this.refused, { name: file.name, failure: toFailure(thrown) }];
      } finally {
        this.reading -= 1;
      }
    }
  }

  /** The demo's own photos, with marks and sizes filled in. */
  async addDemo(): Promise<void> {
    this.reading += 1;
    try {
      const demo = await backend().addDemoPhotos(this.corner);
      for (const added of demo.photos) {
        const inJob = demo.job.photos.find((photo) => photo.file === added.id);
        this.#take(added, new MarkTrail(fromJob(inJob?.marks)));
      }
      const { targets, camera, print_scale } = demo.job;
      this.#base = { targets, camera };
      if (print_scale) {
        this.bars = { measured: true, tool: "calliper", x: (print_scale.x * BAR_MM).toFixed(1), y: (print_scale.y * BAR_MM).toFixed(1) };
      }
    } catch (thrown) {
      this.refused = [...this.refused, { name: "The demo's photos", failure: toFailure(thrown) }];
    } finally {
      this.reading -= 1;
    }
  }

  #take(added: PhotoAdded, trail: MarkTrail): void {
    if (this.photos.some((photo) => photo.added.id === added.id)) {
      const failure: Failure = {
        code: "bad-input",
        message: "this photo is in the list already",
        hint: "take another one from further left or right",
      };
      this.refused = [...this.refused, { name: added.name, failure }];
      return;
    }
    this.photos = [...this.photos, { added, trail }];
  }

  async removePhoto(id: string): Promise<void> {
    this.photos = this.photos.filter((photo) => photo.added.id !== id);
    await backend().forgetPhotos([id]);
  }

  dismiss(refused: Refused): void {
    this.refused = this.refused.filter((other) => other !== refused);
  }

  /** The job as it stands. */
  job(): Job {
    return {
      check: "gap",
      photos: this.photos.map((photo) => ({ file: photo.added.id, marks: forJob(photo.trail.now) })),
      targets: { fixed: "mount-card", turning: this.#seen("hub-ring") ? "hub-ring" : undefined },
      ...this.#base,
      print_scale: printScale(this.bars),
      drive: jobDrive(this.drive),
      height: this.heightsApply ? jobHeight(this.heights) : undefined,
    };
  }

  #seen(target: string): boolean {
    return this.photos.some((photo) => photo.added.found.some((found) => found.name === target));
  }

  async measure(): Promise<void> {
    await this.#dropDraft();
    this.step = "answer";
    this.measuring = true;
    this.failure = null;
    this.progress = { step: "", done: 0 };
    try {
      const request = { board_id: this.board.id, corner: this.corner, job: this.job() };
      this.measured = await backend().measure(request, (note) => (this.progress = note));
    } catch (thrown) {
      const failure = toFailure(thrown);
      if (failure.code === "cancelled") this.step = "sizes";
      else this.failure = failure;
    } finally {
      this.measuring = false;
      this.progress = null;
    }
  }

  async cancel(): Promise<void> {
    await backend().cancelMeasure();
  }

  /** Keeps the answer in the board's history; gives the entry's id. */
  async save(): Promise<string | null> {
    if (!this.measured) return null;
    this.saving = true;
    this.failure = null;
    try {
      const entry = await backend().saveCheck(this.measured.draft_id, this.workDone.trim());
      return entry.id;
    } catch (thrown) {
      this.failure = toFailure(thrown);
      return null;
    } finally {
      this.saving = false;
    }
  }

  /** Lets go of everything that the workshop keeps in memory for this check. */
  async drop(): Promise<void> {
    await this.#dropDraft();
    await backend().forgetPhotos(this.photos.map((photo) => photo.added.id));
  }

  async #dropDraft(): Promise<void> {
    const draft = this.measured?.draft_id;
    this.measured = null;
    if (draft) await backend().dropDraft(draft);
  }
}
