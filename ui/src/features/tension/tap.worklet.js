/* Passes the microphone's samples on to the page, a piece at a time. Runs beside the page, in the sound thread. */
class Tap extends AudioWorkletProcessor {
  process(inputs) {
    const channel = inputs[0]?.[0];
    if (channel) this.port.postMessage(channel.slice());
    return true;
  }
}

registerProcessor("tap", Tap);
