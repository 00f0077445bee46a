import type { Failure } from "../../lib/backend";
import { ownFailure } from "../../lib/errors/failure";
import tap from "./tap.worklet.js?url&no-inline";
import { joined, peakOf, wavOf } from "./wav";
import { t } from "../../lib/words/words.svelte";

/** A recording stops by itself after this long, s. */
export const LONGEST_S = 20;

/** A running recording. */
export interface Recording {
  /** Ends it and gives it as a WAV file. */
  stop(): Promise<ArrayBuffer>;
}

/** What the page is told while it records: seconds so far, and the level of the last piece, 0 to 1. */
export type Heard = (seconds: number, level: number) => void;

function refused(thrown: unknown): Failure {
  const name = thrown instanceof DOMException ? thrown.name : "";
  if (name === "NotAllowedError") {
    return ownFailure("bad-input", t("tension.no-permission"), t("tension.no-permission-hint"));
  }
  return ownFailure("bad-input", t("tension.no-microphone"), t("tension.no-microphone-hint"));
}

/**
 * Begins to record from the microphone. Everything that a phone does for speech is switched off: it would cut a pluck's ring
 * for noise, and lift the noise between plucks.
 */
export async function record(heard: Heard): Promise<Recording> {
  let stream: MediaStream;
  try {
    stream = await navigator.mediaDevices.getUserMedia({
      audio: { channelCount: 1, echoCancellation: false, noiseSuppression: false, autoGainControl: false },
    });
  } catch (thrown) {
    throw refused(thrown);
  }
  const context = new AudioContext();
  const end = async (): Promise<void> => {
    stream.getTracks().forEach((track) => track.stop());
    await context.close();
  };
  try {
    await context.audioWorklet.addModule(tap);
  } catch {
    await end();
    throw refused(null);
  }
  const pieces: Float32Array[] = [];
  let samples = 0;
  const node = new AudioWorkletNode(context, "tap", { numberOfOutputs: 0 });
  node.port.onmessage = (event: MessageEvent<Float32Array>) => {
    if (samples > LONGEST_S * context.sampleRate) return;
    pieces.push(event.data);
    samples += event.data.length;
    heard(samples / context.sampleRate, peakOf(event.data));
  };
  context.createMediaStreamSource(stream).connect(node);
  return {
    async stop() {
      const rateHz = context.sampleRate;
      await end();
      return wavOf(joined(pieces), rateHz);
    },
  };
}
