import { noMarks, type PhotoMarks } from "./marks";

const LONGEST = 200;

/** The marks of one photo with the way back. A drag is one step of it, however far it went. */
export class MarkTrail {
  now = $state.raw<PhotoMarks>(noMarks());
  #past = $state.raw<PhotoMarks[]>([]);
  #future = $state.raw<PhotoMarks[]>([]);

  constructor(start: PhotoMarks = noMarks()) {
    this.now = start;
  }

  get canUndo(): boolean {
    return this.#past.length > 0;
  }

  get canRedo(): boolean {
    return this.#future.length > 0;
  }

  /** A step that can be taken back. */
  put(marks: PhotoMarks): void {
    if (marks === this.now) return;
    this.keep();
    this.now = marks;
  }

  /** Notes where a drag begins; `slide` then changes marks without a step of its own. */
  keep(): void {
    this.#past = [...this.#past, this.now].slice(-LONGEST);
    this.#future = [];
  }

  slide(marks: PhotoMarks): void {
    this.now = marks;
  }

  undo(): void {
    const before = this.#past.at(-1);
    if (!before) return;
    this.#past = this.#past.slice(0, -1);
    this.#future = [...this.#future, this.now];
    this.now = before;
  }

  redo(): void {
    const after = this.#future.at(-1);
    if (!after) return;
    this.#future = this.#future.slice(0, -1);
    this.#past = [...this.#past, this.now];
    this.now = after;
  }
}
