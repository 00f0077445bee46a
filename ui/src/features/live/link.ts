import type { Look } from "../../lib/backend";

/** A picture of the running camera, reduced and grey: a byte a pixel, row by row from the top left. */
export interface Frame {
  width: number;
  height: number;
  grey: Uint8Array<ArrayBuffer>;
  /** Width of the photo that would be kept of it. */
  photoWidth: number;
}

/** A photo as it is handed in. */
export interface TakenPhoto {
  name: string;
  arrayBuffer(): Promise<ArrayBuffer>;
}

/**
 * What a running camera needs of whoever finds the targets: the program around the page, or a bench at the other end of a
 * network. Both calls may reject with a `Failure`.
 */
export interface LiveLink {
  look(frame: Frame): Promise<Look>;
  /** Hands in a photo; tells whether it shows all that it should. One that the camera took by itself and does not is dropped. */
  keep(photo: TakenPhoto, byItself: boolean): Promise<boolean>;
}
