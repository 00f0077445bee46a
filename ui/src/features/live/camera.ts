import type { Failure } from "../../lib/backend";
import { ownFailure } from "../../lib/errors/failure";
import type { Frame } from "./link";
import { named } from "./stream";
import { t } from "../../lib/words/words.svelte";

/** Pictures are looked at in this width, px: targets are read well, and a network can carry them. */
export const LOOK_WIDTH = 1280;
/** Quality of a kept photo: beyond it files only grow. */
const QUALITY = 0.95;

/** Whether the page can ask for a camera at all. */
export const hasCamera = (): boolean => typeof navigator !== "undefined" && navigator.mediaDevices?.getUserMedia !== undefined;

function refused(thrown: unknown): Failure {
  const name = thrown instanceof DOMException ? thrown.name : "";
  if (name === "NotAllowedError") {
    return ownFailure("bad-input", t("live.not-allowed"), t("live.not-allowed-hint"));
  }
  return ownFailure("bad-input", t("live.no-camera"), t("live.no-camera-hint"));
}

/** The camera that looks away from the person, as large as it gives its pictures. */
export async function openCamera(): Promise<MediaStream> {
  try {
    return await navigator.mediaDevices.getUserMedia({
      video: { facingMode: { ideal: "environment" }, width: { ideal: 3840 }, height: { ideal: 2880 } },
      audio: false,
    });
  } catch (thrown) {
    throw refused(thrown);
  }
}

function size(canvas: HTMLCanvasElement, width: number, height: number): void {
  if (canvas.width === width && canvas.height === height) return;
  canvas.width = width;
  canvas.height = height;
}

/** Takes single pictures out of a running camera. What is looked at and what is kept is the same picture. */
export class Grabber {
  readonly #whole = document.createElement("canvas");
  readonly #reduced = document.createElement("canvas");
  readonly #onto: CanvasRenderingContext2D | null;
  readonly #into: CanvasRenderingContext2D | null;

  constructor() {
    this.#onto = this.#whole.getContext("2d", { alpha: false });
    this.#into = this.#reduced.getContext("2d", { alpha: false, willReadFrequently: true });
  }

  /** The picture that the camera shows now; nothing while it has none. */
  grab(video: HTMLVideoElement): Frame | null {
    const { videoWidth, videoHeight } = video;
    if (!this.#onto || !this.#into || videoWidth === 0 || videoHeight === 0) return null;
    size(this.#whole, videoWidth, videoHeight);
    this.#onto.drawImage(video, 0, 0);
    const width = Math.min(LOOK_WIDTH, videoWidth);
    const height = Math.round((videoHeight * width) / videoWidth);
    size(this.#reduced, width, height);
    this.#into.drawImage(this.#whole, 0, 0, width, height);
    return { width, height, photoWidth: videoWidth, grey: greyOf(this.#into.getImageData(0, 0, width, height).data) };
  }

  /** The last picture as a photo, with the name of the stream that it came from where that has one. */
  async photo(name: string, stream: string | null): Promise<File> {
    const blob = await new Promise<Blob | null>((resolve) => this.#whole.toBlob(resolve, "image/jpeg", QUALITY));
    if (!blob) throw new Error("the picture could not be written");
    const jpeg = new Uint8Array(await blob.arrayBuffer());
    return new File([stream === null ? jpeg : named(jpeg, stream)], name, { type: blob.type });
  }
}

/** Luma from colours (ITU-R BT.601), rounded. */
export function greyOf(colours: Uint8ClampedArray): Uint8Array<ArrayBuffer> {
  const grey = new Uint8Array(colours.length / 4);
  for (let pixel = 0, at = 0; pixel < grey.length; pixel += 1, at += 4) {
    grey[pixel] = (77 * colours[at]! + 150 * colours[at + 1]! + 29 * colours[at + 2]! + 128) >> 8;
  }
  return grey;
}

/** Longest wait for another picture, ms: a camera that tells of none is asked again all the same. */
const LONGEST_WAIT_MS = 250;
/** Where the web view tells of no pictures at all, ms. */
const BLIND_WAIT_MS = 40;

/** Tells when a running camera shows another picture; one that came meanwhile is not waited for again. */
export class Pictures {
  readonly #video: HTMLVideoElement;
  readonly #tells: boolean;
  #fresh = false;
  #wake: (() => void) | null = null;

  constructor(video: HTMLVideoElement) {
    this.#video = video;
    this.#tells = "requestVideoFrameCallback" in video;
    this.#hear();
  }

  #hear(): void {
    if (!this.#tells) return;
    this.#video.requestVideoFrameCallback(() => {
      this.#fresh = true;
      this.#wake?.();
      this.#hear();
    });
  }

  async next(): Promise<void> {
    if (!this.#fresh) {
      await new Promise<void>((resolve) => {
        const timer = setTimeout(resolve, this.#tells ? LONGEST_WAIT_MS : BLIND_WAIT_MS);
        this.#wake = () => {
          clearTimeout(timer);
          resolve();
        };
      });
      this.#wake = null;
    }
    this.#fresh = false;
  }
}
