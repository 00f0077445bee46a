import { backend, type Failure, type PhoneAtBench, type PhoneInvitation, type PhoneTold, type PhotoAdded } from "../../lib/backend";
import { toFailure, type ShownFailure } from "../../lib/errors/failure";
import { CATALOGUE, type PlainKey } from "../../lib/words/catalogue";
import { filled } from "../../lib/words/text";
import type { PhotoCheck } from "../capture/check.svelte";

/** How often the server is asked what arrived, ms. */
const ASKED_EVERY = 700;

/** The phone speaks a language of its own, and takes what the bench says for English. */
const english = (key: PlainKey): string => filled(CATALOGUE.en[key], {}, "en");

const pause = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));

/** A phone that takes the photos of the check in this window. Nothing listens before `start`, and nothing after `stop`. */
export class PhoneSession {
  /** Whether the sheet about it is open. */
  shown = $state(false);
  addresses = $state.raw<string[]>([]);
  address = $state("");
  starting = $state(false);
  invitation = $state.raw<PhoneInvitation | null>(null);
  seen = $state.raw<PhoneAtBench | null>(null);
  failure = $state.raw<ShownFailure | null>(null);
  /** Photos that came from the phone. */
  arrived = $state(0);

  readonly #check: PhotoCheck;
  /** Each start has its number, so that a loop knows when it is not the last any more. */
  #run = 0;
  #told = "";
  #going = false;
  #refusal: Failure | null = null;

  constructor(check: PhotoCheck) {
    this.#check = check;
  }

  /** Whether a phone can connect. */
  get open(): boolean {
    return this.invitation !== null && (this.seen?.open ?? true);
  }

  get paired(): string | null {
    return (this.open && this.seen?.paired) || null;
  }

  /** Whether edges are marked before it can be measured. */
  get byHand(): boolean {
    return this.#check.required.length > 0 || this.#check.plan.choices.length > 0;
  }

  async show(): Promise<void> {
    this.shown = true;
    try {
      this.addresses = await backend().phoneAddresses();
      this.address ||= this.addresses[0] ?? "";
    } catch (thrown) {
      this.failure = toFailure(thrown);
    }
  }

  async start(): Promise<void> {
    this.starting = true;
    this.failure = null;
    this.seen = null;
    this.arrived = 0;
    this.#told = "";
    this.#refusal = null;
    const run = (this.#run += 1);
    try {
      const invitation = await backend().phoneStart(this.#check.plan.kind, this.address);
      // It may have been left while the server was started.
      if (run !== this.#run) return void (await backend().phoneStop([]));
      this.invitation = invitation;
      void this.#follow(run);
    } catch (thrown) {
      this.failure = toFailure(thrown);
    } finally {
      this.starting = false;
    }
  }

  /** Shuts the phone out; what happened stays on the screen. */
  async stop(): Promise<void> {
    const was = this.open;
    this.#run += 1;
    try {
      const last = was ? await backend().phoneStop(this.#photos()) : null;
      if (last) await this.#take(last);
    } catch (thrown) {
      this.failure = toFailure(thrown);
    } finally {
      this.invitation = null;
    }
  }

  async close(): Promise<void> {
    this.shown = false;
    await this.stop();
    this.seen = null;
  }

  async #follow(run: number): Promise<void> {
    while (run === this.#run) {
      try {
        const seen = await backend().phoneStanding(this.#photos());
        await this.#take(seen);
        if (run !== this.#run) return;
        if (!seen.open) return;
        if (seen.wished) this.#goOn();
        await this.#tell();
      } catch (thrown) {
        this.failure = toFailure(thrown);
      }
      await pause(ASKED_EVERY);
    }
  }

  #photos(): PhotoAdded[] {
    return this.#check.photos.map((photo) => photo.added);
  }

  /** What arrived is told once, so it is taken whatever happens meanwhile. */
  async #take(seen: PhoneAtBench): Promise<void> {
    for (const photo of seen.arrived) {
      try {
        await this.#check.takeArrived(photo);
      } catch (thrown) {
        // One that cannot be laid aside must not cost those that came with it.
        this.failure = toFailure(thrown);
      }
      this.arrived += 1;
    }
    this.seen = seen;
  }

  /** The phone has sent its photos: what comes next is done here. */
  #goOn(): void {
    const check = this.#check;
    this.#refusal = null;
    // The phone waits for a word, whatever comes of it.
    this.#told = "";
    // Bars that nobody filled in were not measured; the answer's uncertainty says what that costs, and it can be made up for.
    if (check.bars.x.trim() === "" && check.bars.y.trim() === "") check.bars.measured = false;
    const open = check.plan.steps.find((step) => check.blocker(step) !== null);
    if (this.byHand) {
      if (check.canOpen("edges")) check.step = "edges";
    } else if (open) {
      this.#refusal = { code: "bad-input", message: english("use-phone.not-ready"), hint: english("use-phone.not-ready-hint") };
      check.step = open;
    } else {
      this.#going = true;
      void check.measure().finally(() => (this.#going = false));
    }
  }

  async #tell(): Promise<void> {
    const { measuring, measured, failure } = this.#check;
    const told: PhoneTold = { measuring: measuring || this.#going };
    const trouble = this.#refusal ?? failure;
    if (measured) told.result = measured.result;
    if (trouble) told.failure = trouble;
    const text = JSON.stringify(told);
    if (text === this.#told) return;
    this.#told = text;
    await backend().phoneTell(told);
  }
}
