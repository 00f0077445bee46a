import { backend, type Backend, type Corner, type Failure, type HistoryEntry, type Job, type Measured, type SoundAdded } from "../../lib/backend";
import { toFailure } from "../../lib/errors/failure";
import { readNumber } from "../../lib/units/length";
import { record, LONGEST_S, type Recording } from "./recorder";
import { numeral, t } from "../../lib/words/words.svelte";

/** What a field must hold, or what is wrong with it. */
export function problemOf(text: string, least: number, most: number): string | null {
  const value = readNumber(text);
  if (value === null) return t("tension.enter-number");
  if (value < least || value > most) return t("tension.enter-between", { low: least, high: most });
  return null;
}

/** Free spans and belts that a board can have: the workshop refuses what lies outside. */
export const SPAN_MM: readonly [number, number] = [15, 1500];
export const MASS_G_PER_M: readonly [number, number] = [2, 500];

/** A tension check of a corner, from the recording to the saved answer. */
export class TensionCheck {
  span = $state("");
  spanU95 = $state("1");
  mass = $state("");
  massU95 = $state("");
  sound = $state.raw<SoundAdded | null>(null);
  recording = $state.raw<Recording | null>(null);
  seconds = $state(0);
  level = $state(0);
  busy = $state(false);
  measured = $state.raw<Measured | null>(null);
  failure = $state.raw<Failure | null>(null);
  workDone = $state("");

  constructor(
    readonly board: string,
    readonly corner: Corner,
    private readonly workshop: Backend = backend(),
  ) {}

  get problems(): { span: string | null; spanU95: string | null; mass: string | null; massU95: string | null } {
    const span = readNumber(this.span) ?? SPAN_MM[1];
    const mass = readNumber(this.mass) ?? MASS_G_PER_M[1];
    return {
      span: problemOf(this.span, ...SPAN_MM),
      spanU95: problemOf(this.spanU95, 0, span),
      mass: problemOf(this.mass, ...MASS_G_PER_M),
      massU95: problemOf(this.massU95, 0, mass),
    };
  }

  get ready(): boolean {
    return this.sound !== null && !this.busy && Object.values(this.problems).every((problem) => problem === null);
  }

  /** Takes the numbers of the corner's newest saved tension check: belt and span seldom change. */
  startFrom(history: HistoryEntry[]): void {
    const before = history.find((entry) => entry.corner === this.corner && entry.result.check === "tension")?.job.belt;
    if (!before || this.span !== "" || this.mass !== "") return;
    this.span = numeral(before.span.value);
    this.spanU95 = numeral(before.span.u95);
    this.mass = numeral(before.mass_per_length.value);
    this.massU95 = numeral(before.mass_per_length.u95);
  }

  async startRecording(): Promise<void> {
    this.failure = null;
    this.seconds = 0;
    try {
      this.recording = await record((seconds, level) => {
        this.seconds = seconds;
        this.level = level;
        if (seconds >= LONGEST_S) void this.stopRecording();
      });
    } catch (thrown) {
      this.failure = toFailure(thrown);
    }
  }

  async stopRecording(): Promise<void> {
    const recording = this.recording;
    if (!recording) return;
    this.recording = null;
    await this.take("plucks.wav", await recording.stop());
  }

  /** Hands in a recording. */
  async take(name: string, bytes: ArrayBuffer): Promise<void> {
    await this.doing(async () => {
      await this.drop();
      this.sound = await this.workshop.addSound(name, bytes);
    });
  }

  get job(): Job {
    const number = (text: string): number => readNumber(text) ?? Number.NaN;
    return {
      check: "tension",
      photos: [],
      sound: this.sound?.id ?? "",
      belt: {
        span: { value: number(this.span), u95: number(this.spanU95) },
        mass_per_length: { value: number(this.mass), u95: number(this.massU95) },
      },
    };
  }

  async measure(): Promise<void> {
    await this.doing(async () => {
      await this.drop();
      this.measured = await this.workshop.measure({ board_id: this.board, corner: this.corner, job: this.job }, () => {});
    });
  }

  /** Keeps the answer; true when it was kept. */
  async save(): Promise<boolean> {
    const draft = this.measured?.draft_id;
    if (!draft) return false;
    await this.doing(async () => {
      await this.workshop.saveCheck(draft, this.workDone.trim());
      this.measured = null;
    });
    return this.failure === null;
  }

  /** Lets go of a recording that runs and of an answer that was not kept. */
  async drop(): Promise<void> {
    const [recording, draft] = [this.recording, this.measured?.draft_id];
    this.recording = null;
    this.measured = null;
    await recording?.stop();
    if (draft) await this.workshop.dropDraft(draft);
  }

  private async doing(work: () => Promise<void>): Promise<void> {
    this.busy = true;
    this.failure = null;
    try {
      await work();
    } catch (thrown) {
      this.failure = toFailure(thrown);
    } finally {
      this.busy = false;
    }
  }
}
