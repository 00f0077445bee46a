import type { BoardsShown, Failure } from "../../lib/backend";
import { toFailure } from "../../lib/errors/failure";

/** Boards that are shown at first, and how many more each time. */
export const STEP = 60;
/** From so many boards on, a field to find one helps. */
const MANY = 9;

/** The beginning of the list of boards, as far as it was asked for. */
export class BoardsWindow {
  shown = $state.raw<BoardsShown | null>(null);
  failure = $state.raw<Failure | null>(null);
  find = $state("");
  #most = STEP;
  #asked = 0;
  /** How many there are when nothing is looked for. */
  #known = $state(0);

  constructor(private readonly ask: (find: string, most: number) => Promise<BoardsShown>) {}

  /** Whether there is no board at all, which is more than that none was found. */
  get none(): boolean {
    return this.shown !== null && this.shown.all === 0 && this.find.trim() === "";
  }

  get searchable(): boolean {
    return this.#known > MANY || this.find !== "";
  }

  get more(): number {
    return this.shown ? this.shown.all - this.shown.boards.length : 0;
  }

  /** Looks for words, from the beginning of the list. */
  look(words: string): Promise<void> {
    this.find = words;
    this.#most = STEP;
    return this.load();
  }

  /** Shows more of the list. */
  further(): Promise<void> {
    this.#most += STEP;
    return this.load();
  }

  async load(): Promise<void> {
    const asked = (this.#asked += 1);
    const find = this.find;
    try {
      const shown = await this.ask(find, this.#most);
      // An answer to earlier words must not take the place of the one to later words.
      if (asked !== this.#asked) return;
      this.shown = shown;
      this.failure = null;
      if (find.trim() === "") this.#known = shown.all;
    } catch (thrown) {
      if (asked === this.#asked) this.failure = toFailure(thrown);
    }
  }
}
