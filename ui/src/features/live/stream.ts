/** What the photos of a running camera are said to be made by. The workshop knows it by this word, too. */
export const MAKE = "live";
/** Most characters of the camera's own name; what follows it must not be cut off where names are read. */
const MOST_OF_LABEL = 30;
/** So much of the device's number tells it from others. */
const MOST_OF_NUMBER = 8;

/** What is known of a camera's stream; the web view's `MediaTrackSettings`, and what not every one of them has. */
export interface StreamSettings {
  deviceId?: string;
  resizeMode?: string;
  zoom?: number;
}

/**
 * A name for all that makes the pictures of one stream alike: which device, how far it zooms, how the screen is turned (a picture
 * that is turned upright is another picture to a lens), and whether it is cut down. Nothing where the device is not told apart from
 * others, so that no profile can be taken for its own. `angle` is the screen's, degrees.
 *
 * A stream is often another cut of the sensor than a photo, so it never bears the name that the device's photos bear.
 */
export function streamName(label: string, settings: StreamSettings, angle: number | undefined): string | null {
  const number = settings.deviceId?.replace(/[^0-9a-z]/gi, "").slice(0, MOST_OF_NUMBER) ?? "";
  if (number === "") return null;
  const parts = [number];
  if (settings.zoom !== undefined) parts.push(`zoom=${Number(settings.zoom.toFixed(2))}`);
  if (angle !== undefined) parts.push(`turned=${angle}`);
  if (settings.resizeMode && settings.resizeMode !== "none") parts.push(settings.resizeMode);
  return `${label.trim().slice(0, MOST_OF_LABEL).trim() || "camera"} (${parts.join(", ")})`;
}

/** The name of a running track. */
export function nameOfTrack(track: MediaStreamTrack | undefined): string | null {
  if (!track) return null;
  const angle = typeof screen === "undefined" ? undefined : screen.orientation?.angle;
  return streamName(track.label, track.getSettings(), angle);
}

/** EXIF names text ASCII; what is none has a stand-in. */
const ascii = (text: string): number[] => [...[...text].map((c) => (/[\x20-\x7e]/.test(c) ? c.charCodeAt(0) : 0x5f)), 0];

/** EXIF (CIPA DC-008) that tells maker and model and nothing else: a JPEG segment. */
function segment(make: string, model: string): number[] {
  const texts = [ascii(make), ascii(model)];
  // Head of 8 bytes, a count, two entries of 12 bytes, and no further directory.
  const first = 8 + 2 + 2 * 12 + 4;
  const offsets = [first, first + texts[0]!.length];
  const short = (value: number): number[] => [value & 0xff, value >> 8];
  const long = (value: number): number[] => [...short(value & 0xffff), ...short(value >>> 16)];
  const entry = (tag: number, which: 0 | 1): number[] => [...short(tag), ...short(2), ...long(texts[which]!.length), ...long(offsets[which]!)];
  const tiff = [0x49, 0x49, ...short(42), ...long(8), ...short(2), ...entry(0x010f, 0), ...entry(0x0110, 1), ...long(0), ...texts.flat()];
  const body = [0x45, 0x78, 0x69, 0x66, 0, 0, ...tiff];
  const length = body.length + 2;
  return [0xff, 0xe1, length >> 8, length & 0xff, ...body];
}

/** A JPEG with the name of the stream that it came from, right behind its first marker. Texts of four bytes and more only. */
export function named(jpeg: Uint8Array<ArrayBuffer>, model: string): Uint8Array<ArrayBuffer> {
  const exif = segment(MAKE, model);
  const out = new Uint8Array(jpeg.length + exif.length);
  out.set(jpeg.subarray(0, 2));
  out.set(exif, 2);
  out.set(jpeg.subarray(2), 2 + exif.length);
  return out;
}
