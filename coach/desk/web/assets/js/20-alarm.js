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
  // page says so, since a silent alarm is worse than none. It takes the words
  // away only after the touch, lest what is being touched moves away under it.
  let touched = 0;
  const still = 500; // ms
  function tell() {
    document.body.dataset.sounding = playing && context.state === "running" ? "yes" : "no";
    const note = document.getElementById("sound-off");
    if (!note) return;
    const heard = context.state === "running" && !!burst;
    remember(heard);
    if (heard && !note.hidden && Date.now() - touched < still) setTimeout(tell, still);
    else note.hidden = heard;
  }
  // Where the page before could not sound this one says so from its beginning,
  // lest the page moves when somebody is about to touch it.
  function remember(heard) {
    try { sessionStorage.setItem("evenbell-heard", heard ? "yes" : "no"); } catch { /* kept out of the way */ }
  }
  function silentBefore() {
    try { return sessionStorage.getItem("evenbell-heard") !== "yes"; } catch { return false; }
  }
  function wake() {
    touched = Date.now();
    if (context.state !== "running") context.resume().then(set);
  }
  context.addEventListener("statechange", tell);
  for (const kind of ["pointerdown", "pointerup", "keydown", "keyup"]) document.addEventListener(kind, wake);
  const on = document.getElementById("sound-on");
  if (on) on.addEventListener("click", wake);

  evenbell.alarm = {
    want(loud) { wanted = loud; set(); },
    // once plays one burst, for the sound check.
    once() { return ready.then(() => context.resume()).then(() => { tell(); start(burst, false); }); },
  };
  if (silentBefore() && document.getElementById("sound-off")) document.getElementById("sound-off").hidden = false;
  setTimeout(tell, 300);
})();
