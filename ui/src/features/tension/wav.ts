/** Bytes before the samples of a plain WAV file. */
const HEAD_BYTES = 44;
const FULL_SCALE = 32767;

/** Samples (full scale 1) as a mono WAV file of 16 bit. */
export function wavOf(samples: Float32Array, rateHz: number): ArrayBuffer {
  const file = new ArrayBuffer(HEAD_BYTES + 2 * samples.length);
  const view = new DataView(file);
  const words = (at: number, text: string): void => {
    for (let k = 0; k < text.length; k += 1) view.setUint8(at + k, text.charCodeAt(k));
  };
  words(0, "RIFF");
  view.setUint32(4, file.byteLength - 8, true);
  words(8, "WAVEfmt ");
  view.setUint32(16, 16, true);
  view.setUint16(20, 1, true);
  view.setUint16(22, 1, true);
  view.setUint32(24, rateHz, true);
  view.setUint32(28, 2 * rateHz, true);
  view.setUint16(32, 2, true);
  view.setUint16(34, 16, true);
  words(36, "data");
  view.setUint32(40, 2 * samples.length, true);
  for (let k = 0; k < samples.length; k += 1) {
    const held = Math.max(-1, Math.min(1, samples[k] ?? 0));
    view.setInt16(HEAD_BYTES + 2 * k, Math.round(held * FULL_SCALE), true);
  }
  return file;
}

/** Pieces of sound put together. */
export function joined(pieces: Float32Array[]): Float32Array {
  const all = new Float32Array(pieces.reduce((length, piece) => length + piece.length, 0));
  let at = 0;
  for (const piece of pieces) {
    all.set(piece, at);
    at += piece.length;
  }
  return all;
}

/** Loudest sample of a piece, 0 to 1. */
export function peakOf(piece: Float32Array): number {
  return piece.reduce((peak, sample) => Math.max(peak, Math.abs(sample)), 0);
}
