// The alarm: loud while anything on the page is marked data-loud, which the
// desk takes away once somebody has acknowledged it by name.
(function () {
  const address = document.body.dataset.alarm;
  if (!address || !window.AudioContext) return;
  const pause = 2; // seconds between two bursts
  const context = new AudioContext();
  let burst = null, looped = null, playing = null, wanted = false;

  const ready = fetch(address).then(r => r.arrayBuffer()).then(b => context.decodeAudioData(b)).then(b => {
    burst = b;
    looped = context.createBuffer(1, b.length + pause * b.sampleRate, b.sampleRate);
    looped.copyToChannel(b.getChannelData(0), 0);
    set();
  });
  ready.catch(() => tell());

  function set() {
    if (wanted && !playing && looped) playing = start(looped, true);
    if (!wanted && playing) { playing.stop(); playing = null; }
    tell();
  }

  function start(buffer, loop) {
    const s = context.createBufferSource();
    s.buffer = buffer;
    s.loop = loop;
    s.connect(context.destination);
    s.start();
    return s;
  }

  // Browsers may keep a page silent until somebody has touched it; then the
  // page says so, since a silent alarm is worse than none.
  function tell() {
    const note = document.getElementById("sound-off");
    if (note) note.hidden = context.state === "running" && !!burst;
    document.body.dataset.sounding = playing && context.state === "running" ? "yes" : "no";
  }
  function wake() { if (context.state !== "running") context.resume().then(set); }
  context.addEventListener("statechange", tell);
  for (const kind of ["pointerdown", "keydown"]) document.addEventListener(kind, wake);
  const on = document.getElementById("sound-on");
  if (on) on.addEventListener("click", wake);

  evenbell.alarm = {
    want(loud) { wanted = loud; set(); },
    // once plays one burst, for the sound check.
    once() { return ready.then(() => context.resume()).then(() => { tell(); start(burst, false); }); },
  };
  setTimeout(tell, 500);
})();
