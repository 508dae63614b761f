// Recording a line of an exercise in the page: microphone → samples → WAV file
// in the form's file field. Without it, or without a microphone, a file is
// chosen by hand.
(function () {
  const most = 4 << 20; // bytes the desk takes
  const spare = 3;      // seconds of silence around the words

  for (const form of document.querySelectorAll("form[data-record]")) {
    const file = form.querySelector("input[type=file]");
    file.addEventListener("change", () => {
      const large = file.files[0] && file.files[0].size > most;
      file.setCustomValidity(large ? "This file is too large: at most 4 MB." : "");
      file.reportValidity();
    });
    if (window.AudioWorkletNode && navigator.mediaDevices && navigator.mediaDevices.getUserMedia) recorder(form, file);
  }

  function recorder(form, file) {
    const go = form.querySelector("[data-record-go]"), hear = form.querySelector("[data-record-hear]");
    const says = form.querySelector("[data-record-says]");
    const label = go.textContent;
    let taking = null, kept = null;
    go.hidden = false;

    go.addEventListener("click", async () => {
      if (taking) return end();
      try {
        taking = await begin(Number(form.dataset.record) / 1000 + spare, end);
        go.textContent = "Stop";
        says.textContent = "Recording. Speak now, then press stop.";
      } catch (e) {
        says.textContent = "The microphone can’t be used here. Allow it in the browser, or choose a file instead.";
      }
    });

    async function end() {
      const t = taking;
      taking = null;
      if (!t) return;
      go.textContent = label;
      kept = { samples: await t.stop(), rate: t.rate };
      const chosen = new DataTransfer();
      chosen.items.add(new File([wav(kept.samples, kept.rate)], "recorded.wav", { type: "audio/wav" }));
      file.files = chosen.files;
      file.dispatchEvent(new Event("change"));
      hear.hidden = false;
      says.textContent = "Recorded. Listen to it, then send it, or record again.";
    }

    hear.addEventListener("click", () => {
      const sound = new AudioContext(), buffer = sound.createBuffer(1, Math.max(1, kept.samples.length), kept.rate);
      buffer.copyToChannel(kept.samples, 0);
      const source = sound.createBufferSource();
      source.buffer = buffer;
      source.connect(sound.destination);
      source.onended = () => sound.close();
      source.start();
    });
  }

  // begin takes samples until stop is called, or for most seconds.
  async function begin(most, full) {
    // What telephones do to a voice is not wanted here.
    const plain = { channelCount: 1, echoCancellation: false, noiseSuppression: false, autoGainControl: false };
    const stream = await navigator.mediaDevices.getUserMedia({ audio: plain });
    const sound = new AudioContext(), pieces = [];
    await sound.audioWorklet.addModule(document.body.dataset.recorder);
    const node = new AudioWorkletNode(sound, "recorder", { numberOfOutputs: 0 });
    node.port.onmessage = e => pieces.push(e.data);
    sound.createMediaStreamSource(stream).connect(node);
    const late = setTimeout(full, most * 1000);
    return { rate: sound.sampleRate, stop: async () => {
      clearTimeout(late);
      for (const t of stream.getTracks()) t.stop();
      await sound.close();
      const all = new Float32Array(pieces.reduce((n, p) => n + p.length, 0));
      let at = 0;
      for (const p of pieces) { all.set(p, at); at += p.length; }
      return all;
    } };
  }

  // wav is samples as a file: mono, 16-bit PCM.
  function wav(samples, rate) {
    const v = new DataView(new ArrayBuffer(44 + 2 * samples.length));
    const words = (at, s) => { for (let i = 0; i < s.length; i++) v.setUint8(at + i, s.charCodeAt(i)); };
    words(0, "RIFF"); v.setUint32(4, 36 + 2 * samples.length, true); words(8, "WAVEfmt "); v.setUint32(16, 16, true);
    v.setUint16(20, 1, true); v.setUint16(22, 1, true); v.setUint32(24, rate, true); v.setUint32(28, 2 * rate, true);
    v.setUint16(32, 2, true); v.setUint16(34, 16, true); words(36, "data"); v.setUint32(40, 2 * samples.length, true);
    samples.forEach((x, i) => v.setInt16(44 + 2 * i, Math.round(32767 * Math.max(-1, Math.min(1, x))), true));
    return v.buffer;
  }
})();
