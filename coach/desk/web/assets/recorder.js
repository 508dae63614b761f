// The part of recording that runs where sound does: it passes the samples on.
registerProcessor("recorder", class extends AudioWorkletProcessor {
  process(inputs) {
    if (inputs[0].length) this.port.postMessage(inputs[0][0].slice());
    return true;
  }
});
