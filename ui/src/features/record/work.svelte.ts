import type { Failure } from "../../lib/backend";
import { ownFailure, toFailure } from "../../lib/errors/failure";

/** One piece of work at a time: whether it runs, and what kept the last one from being done. */
export class Work {
  /** What runs now; empty when nothing does. */
  running = $state("");
  failure = $state.raw<Failure | null>(null);
  /** What ran last, so that its failure can be shown where it was started. */
  last = $state("");

  /** The failure of one of these, if that is what ran last. */
  failureOf(...names: string[]): Failure | null {
    return names.includes(this.last) ? this.failure : null;
  }

  get busy(): boolean {
    return this.running !== "";
  }

  /** Says what keeps something from being done before it is tried. */
  fail(name: string, message: string, hint: string): void {
    this.last = name;
    this.failure = ownFailure("bad-input", message, hint);
  }

  /** Runs it; gives nothing when it failed, and `failure` says why. */
  async run<T>(name: string, work: () => Promise<T>): Promise<T | undefined> {
    if (this.busy) return undefined;
    this.running = this.last = name;
    this.failure = null;
    try {
      return await work();
    } catch (thrown) {
      this.failure = toFailure(thrown);
      return undefined;
    } finally {
      this.running = "";
    }
  }
}
