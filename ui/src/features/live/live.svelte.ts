import type { Failure, Look } from "../../lib/backend";
import { toFailure } from "../../lib/errors/failure";
import { Grabber, openCamera, Pictures } from "./camera";
import type { LiveLink } from "./link";
import { nameOfTrack } from "./stream";

/** So many looks are counted for the rate. */
const COUNTED = 10;
/** A taken photo is shown as taken for so long, ms. */
const SHOWN_MS = 700;

/** A running camera: looks at its pictures one after the other, and takes those that are judged good. */
export class LiveCapture {
  /** What the last picture showed, and its size. */
  look = $state.raw<Look | null>(null);
  size = $state.raw({ width: 4, height: 3 });
  /** Whether photos are taken without a press. */
  byItself = $state(true);
  /** Whether a photo is being handed in. */
  keeping = $state(false);
  /** Whether a photo was taken a moment ago. */
  flash = $state(false);
  taken = $state(0);
  /** Pictures looked at in a second. */
  rate = $state(0);
  running = $state(false);
  failure = $state.raw<Failure | null>(null);

  readonly #link: LiveLink;
  readonly #name: string;
  readonly #grabber = new Grabber();
  #stream: MediaStream | null = null;
  #pressed = false;
  #times: number[] = [];
  #left = false;

  /** `name` begins the photos' names. */
  constructor(link: LiveLink, name: string) {
    this.#link = link;
    this.#name = name;
  }

  /** Opens the camera and stays with it until `stop`. */
  async run(video: HTMLVideoElement): Promise<void> {
    try {
      this.#stream = await openCamera();
      // It may have been left while the question stood on the screen.
      if (this.#left) return this.stop();
      video.srcObject = this.#stream;
      await video.play();
      this.running = true;
      const pictures = new Pictures(video);
      while (!this.#left) {
        await pictures.next();
        await this.#next(video);
      }
    } catch (thrown) {
      if (!this.#left) this.failure = toFailure(thrown);
      this.stop();
    }
  }

  async #next(video: HTMLVideoElement): Promise<void> {
    const frame = this.#left ? null : this.#grabber.grab(video);
    if (!frame) return;
    const look = await this.#link.look(frame);
    if (this.#left) return;
    this.size = { width: frame.width, height: frame.height };
    this.look = look;
    this.#count(performance.now());
    const pressed = this.#pressed;
    if (pressed || (this.byItself && look.judged.take)) await this.#take(!pressed);
  }

  async #take(byItself: boolean): Promise<void> {
    this.#pressed = false;
    this.keeping = true;
    try {
      const photo = await this.#grabber.photo(`${this.#name}-${this.taken + 1}.jpg`, nameOfTrack(this.#stream?.getVideoTracks()[0]));
      if (await this.#link.keep(photo, byItself)) {
        this.taken += 1;
        this.flash = true;
        setTimeout(() => (this.flash = false), SHOWN_MS);
      }
    } finally {
      this.keeping = false;
      this.#times = [];
    }
  }

  #count(now: number): void {
    this.#times = [...this.#times, now].slice(-COUNTED);
    const [first] = this.#times;
    if (first !== undefined && this.#times.length > 2) this.rate = (1000 * (this.#times.length - 1)) / (now - first);
  }

  /** Takes the next picture as a photo, whatever it shows. */
  press(): void {
    this.#pressed = true;
  }

  stop(): void {
    this.#left = true;
    this.running = false;
    this.#stream?.getTracks().forEach((track) => track.stop());
    this.#stream = null;
  }
}
