import { backend, type Board, type Calibrated, type Corner, type Failure, type Job, type Measured, type PhotoAdded, type PhotoGlimpse, type ProgressNote, type Proposal } from "../../lib/backend";
import { ownFailure, toFailure } from "../../lib/errors/failure";
import { fixed } from "../../lib/format/quantity";
import type { PlainKey } from "../../lib/words/catalogue";
import { complete, CURVES, empty, forJob, fromJob, markedEnough, noMarks, type CurveName } from "../marking/marks";
import { MarkTrail } from "../marking/trail.svelte";
import { draft, type KeptCheck } from "./draft";
import { PLANS, type CheckPlan, type PhotoKind, type Step } from "./plans";
import { BAR_MM, barProblem, printScale, type BarEntry } from "./scale";
import { heightProblems, heightsOfJob, noHeights, sizeEntry, sizeProblems, sizesOfJob, type HeightEntry, type SizeEntry } from "./sizes";
import { t } from "../../lib/words/words.svelte";

export const STEP_WORDS: Record<Step, PlainKey> = {
  ready: "step.ready",
  photos: "step.photos",
  edges: "step.edges",
  sizes: "step.sizes",
  answer: "step.answer",
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

/** Where a check is made; a camera is calibrated nowhere. */
export interface CheckPlace {
  board: Board;
  corner: Corner;
}

/** What came out, and for a camera which one it was. */
export type Answer = Measured & Partial<Pick<Calibrated, "camera">>;

/** One check from photos, from the first of them to the saved answer. */
export class PhotoCheck {
  step = $state<Step>("ready");
  photos = $state.raw<CheckPhoto[]>([]);
  refused = $state.raw<Refused[]>([]);
  /** How many files are being looked at. */
  reading = $state(0);
  /** The one whose corners are being found. */
  glimpse = $state.raw<PhotoGlimpse | null>(null);
  /** What is to be measured, where the plan leaves a choice. */
  chosen = $state<string[]>([]);
  bars = $state<BarEntry>({ measured: true, tool: "calliper", x: "", y: "" });
  sizes = $state<SizeEntry>({});
  heights = $state<HeightEntry>({ stated: false, values: {}, u95: "0.5" });
  /** The progress of a running measurement. */
  progress = $state.raw<ProgressNote | null>(null);
  measuring = $state(false);
  failure = $state.raw<Failure | null>(null);
  /** Marks that the program proposed and that nobody has confirmed yet: nothing is measured from them. */
  proposal = $state.raw<Proposal | null>(null);
  proposing = $state(false);
  measured = $state.raw<Answer | null>(null);
  workDone = $state("");
  saving = $state(false);

  readonly plan: CheckPlan;
  readonly place: CheckPlace | null;
  #base: Partial<Job> = {};

  constructor(kind: PhotoKind, place: CheckPlace | null) {
    this.plan = PLANS[kind];
    this.place = place;
    this.sizes = sizeEntry(this.plan.fields, place?.board ?? null);
    this.heights = noHeights(this.plan.heights);
    this.chosen = this.plan.choices.slice(0, 1).map((choice) => choice.id);
  }

  /** What must be marked. */
  get required(): readonly CurveName[] {
    const chosen = this.plan.choices.filter((choice) => this.chosen.includes(choice.id));
    return [...this.plan.curves, ...chosen.flatMap((choice) => choice.curves)];
  }

  /** All that can be marked. */
  get curves(): readonly CurveName[] {
    return [...this.required, ...this.plan.optional];
  }

  /** Why the next step cannot be taken yet, in words; nothing when it can. */
  blocker(step: Step = this.step): string | null {
    if (step === "photos") return this.#photosBlocker();
    if (step === "edges") return this.#edgesBlocker();
    if (step === "sizes" && !this.sizesComplete) return t("check.fill-in-sizes");
    return null;
  }

  #photosBlocker(): string | null {
    const { fewest } = this.plan;
    if (this.reading > 0) return t("check.looking");
    if (this.photos.length >= fewest) return null;
    return t("check.add-photos", { count: fewest });
  }

  #edgesBlocker(): string | null {
    if (this.proposal) return t("mark.confirm-first");
    const { required } = this;
    const all = this.photos.map((photo) => photo.trail.now);
    if (required.length === 0) return this.plan.choices.length > 0 ? t("check.choose") : null;
    // Both edges of a gap are wanted in one photo; of several things chosen, each wherever it is seen.
    if (this.plan.kind === "gap") {
      return all.some((marks) => complete(marks, required)) ? null : t("check.mark-both");
    }
    const open = required.filter((curve) => !markedEnough(all, curve));
    if (open.length === 0) return null;
    const twice = open.some((curve) => CURVES[curve].photos > 1) && this.photos.length > 1;
    const twiceWords = this.plan.kind === "part" ? t("check.mark-straight-twice") : t("check.mark-twice");
    return twice ? twiceWords : t("check.mark-chosen");
  }

  get sizesComplete(): boolean {
    const barsFine = !this.bars.measured || (barProblem(this.bars.x) === null && barProblem(this.bars.y) === null);
    const heightsFine = !this.heightsApply || Object.keys(heightProblems(this.plan.heights, this.heights)).length === 0;
    return barsFine && heightsFine && Object.keys(sizeProblems(this.plan.fields, this.sizes)).length === 0;
  }

  /** One photo alone cannot tell height from distance: only then may heights be stated. */
  get heightsApply(): boolean {
    return this.plan.heights.length > 0 && this.photos.length === 1 && this.heights.stated;
  }

  /** The step before (-1) or after (1) the one that is open. */
  beside(by: -1 | 1): Step | undefined {
    return this.plan.steps[this.plan.steps.indexOf(this.step) + by];
  }

  /** Whether a step can be opened: every step before it is done. */
  canOpen(step: Step): boolean {
    if (step === "answer") return this.measured !== null || this.measuring;
    const before = this.plan.steps.slice(0, this.plan.steps.indexOf(step));
    return before.every((earlier) => this.blocker(earlier) === null);
  }

  async addFiles(files: HandedIn[]): Promise<void> {
    for (const file of files) {
      this.reading += 1;
      try {
        const bytes = await file.arrayBuffer();
        const added = await backend().addPhoto(file.name, bytes, (glimpse) => this.#show(glimpse));
        if (this.#take(added, new MarkTrail())) await draft.keepPhoto(added.id, bytes);
      } catch (thrown) {
        this.refused = [...this.refused, { name: file.name, failure: toFailure(thrown) }];
      } finally {
        this.reading -= 1;
        this.glimpse = null;
      }
    }
  }

  /** Shows a photo whose corners are still being found, unless it is in the list already. */
  #show(glimpse: PhotoGlimpse): void {
    if (!this.photos.some((photo) => photo.added.id === glimpse.id)) this.glimpse = glimpse;
  }

  /** Takes in a photo that came from a phone: the workshop has it already. */
  async takeArrived(added: PhotoAdded): Promise<void> {
    if (this.#take(added, new MarkTrail())) await draft.keepPhoto(added.id, await backend().photoBytes(added.id));
  }

  /** The demo's own photos, with marks and sizes filled in. */
  async addDemo(): Promise<void> {
    if (!this.place) return;
    this.reading += 1;
    try {
      const demo = await backend().addDemoPhotos(this.place.corner);
      for (const added of demo.photos) {
        const inJob = demo.job.photos.find((photo) => photo.file === added.id);
        this.#take(added, new MarkTrail(fromJob(inJob?.marks)));
      }
      const { targets, camera, print_scale } = demo.job;
      this.#base = { targets, camera };
      if (print_scale) {
        this.bars = { measured: true, tool: "calliper", x: fixed(print_scale.x * BAR_MM, 1), y: fixed(print_scale.y * BAR_MM, 1) };
      }
    } catch (thrown) {
      this.refused = [...this.refused, { name: t("check.demo-photos"), failure: toFailure(thrown) }];
    } finally {
      this.reading -= 1;
    }
  }

  /** Takes a photo into the list; false when it is there already. */
  #take(added: PhotoAdded, trail: MarkTrail): boolean {
    if (this.photos.some((photo) => photo.added.id === added.id)) {
      const failure = ownFailure("bad-input", t("check.photo-twice"), t("check.photo-twice-hint"));
      this.refused = [...this.refused, { name: added.name, failure }];
      return false;
    }
    this.photos = [...this.photos, { added, trail }];
    return true;
  }

  async removePhoto(id: string): Promise<void> {
    this.photos = this.photos.filter((photo) => photo.added.id !== id);
    await backend().forgetPhotos([id]);
    await draft.forgetPhoto(id);
  }

  dismiss(refused: Refused): void {
    this.refused = this.refused.filter((other) => other !== refused);
  }

  /** Gives a photo the marks of another, where the program thinks that they lie; they are to be dragged into place. */
  async carry(from: CheckPhoto, to: CheckPhoto): Promise<void> {
    this.failure = null;
    try {
      const carried = await backend().carryMarks(from.added.id, to.added.id, forJob(from.trail.now, this.curves));
      to.trail.put(fromJob(carried.marks));
    } catch (thrown) {
      this.failure = toFailure(thrown);
    }
  }

  /** Whether edges can be looked for: a gap whose photos carry no mark yet. */
  get canPropose(): boolean {
    const { plan, photos } = this;
    return plan.kind === "gap" && this.place !== null && photos.length > 1 && photos.every((photo) => empty(photo.trail.now));
  }

  /** Lets the program find the edges; what it proposes stands as marks, to be dragged and then confirmed. */
  async propose(): Promise<void> {
    if (!this.place || this.proposing) return;
    this.failure = null;
    this.proposing = true;
    try {
      const request = { board_id: this.place.board.id, corner: this.place.corner, job: this.job() };
      const proposal = await backend().proposeMarks(request, () => {});
      // Marks that were made by hand meanwhile stay.
      if (!this.canPropose) return;
      for (const { file, marks } of proposal.photos) {
        const photo = this.photos.find((one) => one.added.id === file);
        if (photo && Object.keys(marks ?? {}).length > 0) photo.trail.put(fromJob(marks));
      }
      this.proposal = proposal;
    } catch (thrown) {
      const failure = toFailure(thrown);
      if (failure.code !== "cancelled") this.failure = failure;
    } finally {
      this.proposing = false;
    }
  }

  /** The proposed marks have been looked at: they are marks as any. */
  confirmProposal(): void {
    this.proposal = null;
  }

  /** Takes all proposed marks away. */
  dropProposal(): void {
    this.proposal = null;
    for (const photo of this.photos) photo.trail.put(noMarks());
  }

  /** The job as it stands. */
  job(): Job {
    const { plan, curves } = this;
    return {
      check: plan.kind,
      photos: this.photos.map((photo) => ({ file: photo.added.id, marks: forJob(photo.trail.now, curves) })),
      targets: plan.targets(this.photos.map((photo) => photo.added)),
      ...this.#base,
      print_scale: printScale(this.bars),
      drive: sizesOfJob(plan.fields, this.sizes),
      height: this.heightsApply ? heightsOfJob(plan.heights, this.heights) : undefined,
    };
  }

  async measure(): Promise<void> {
    await this.#dropDraft();
    this.step = "answer";
    this.measuring = true;
    this.failure = null;
    this.progress = { step: "", done: 0 };
    try {
      this.measured = await this.#ask((note) => (this.progress = note));
    } catch (thrown) {
      const failure = toFailure(thrown);
      if (failure.code === "cancelled") this.step = "sizes";
      else this.failure = failure;
    } finally {
      this.measuring = false;
      this.progress = null;
    }
  }

  #ask(progress: (note: ProgressNote) => void): Promise<Answer> {
    if (!this.place) {
      const photo_ids = this.photos.map((photo) => photo.added.id);
      return backend().calibrate({ photo_ids, print_scale: printScale(this.bars) }, progress);
    }
    return backend().measure({ board_id: this.place.board.id, corner: this.place.corner, job: this.job() }, progress);
  }

  async cancel(): Promise<void> {
    await backend().cancelMeasure();
  }

  /** Keeps the answer; gives the entry's id in the board's history, or nothing but an empty id for a camera. */
  async save(): Promise<string | null> {
    if (!this.measured) return null;
    this.saving = true;
    this.failure = null;
    try {
      if (this.place) return (await backend().saveCheck(this.measured.draft_id, this.workDone.trim())).id;
      await backend().keepCamera(this.measured.draft_id);
      return "";
    } catch (thrown) {
      this.failure = toFailure(thrown);
      return null;
    } finally {
      this.saving = false;
    }
  }

  /** What has to be kept of the check, so that it can be gone on with after a crash. */
  kept(): KeptCheck {
    return {
      kind: this.plan.kind,
      board: this.place?.board.id ?? null,
      corner: this.place?.corner ?? "left",
      // An answer that was not saved is measured anew.
      step: this.step === "answer" ? "sizes" : this.step,
      photos: this.photos.map(({ added, trail }) => ({ id: added.id, name: added.name, marks: trail.now })),
      chosen: [...this.chosen],
      bars: { ...this.bars },
      sizes: { ...this.sizes },
      heights: { ...this.heights, values: { ...this.heights.values } },
      proposal: this.proposal,
    };
  }

  /** A check as it was kept; photos whose bytes are gone stay out. */
  static async restored(kept: KeptCheck, place: CheckPlace | null): Promise<PhotoCheck> {
    const check = new PhotoCheck(kept.kind, place);
    for (const { id, name, marks } of kept.photos) {
      const bytes = await draft.photo(id);
      if (bytes) check.#take(await backend().addPhoto(name, bytes), new MarkTrail(marks));
    }
    check.chosen = kept.chosen;
    check.bars = kept.bars;
    check.sizes = kept.sizes;
    check.heights = kept.heights;
    check.proposal = kept.proposal ?? null;
    check.step = check.canOpen(kept.step) ? kept.step : "photos";
    return check;
  }

  /** Lets go of everything that the workshop keeps in memory for this check. */
  async drop(): Promise<void> {
    await this.#dropDraft();
    await backend().forgetPhotos(this.photos.map((photo) => photo.added.id));
  }

  async #dropDraft(): Promise<void> {
    const draft = this.measured?.draft_id;
    this.measured = null;
    // A calibration that is not kept gives way to the next one by itself.
    if (draft && this.place) await backend().dropDraft(draft);
  }
}
