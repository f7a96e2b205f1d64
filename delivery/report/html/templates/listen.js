"use strict";
// Two copies of an excerpt run side by side from one clock; switching only moves their gains, in 5 ms.
(() => {
  const FADE_S = 0.005;
  const byId = (id) => document.getElementById(id);
  const [play, first, second, unknown] = ["play", "first", "second", "unknown"].map(byId);
  const [start, isFirst, isSecond, end] = ["start", "is-first", "is-second", "end"].map(byId);
  const buffers = new Map();
  let context = null, running = null, heard = 0, run = null;

  const bytesOf = (text) => Uint8Array.from(atob(text.trim()), (letter) => letter.charCodeAt(0));
  /** The sound stands in the page itself, or the page says where it is. */
  const soundOf = async (one) => (one.dataset.src ? (await fetch(one.dataset.src)).arrayBuffer() : bytesOf(one.textContent).buffer);
  const chosen = () => Number(document.querySelector("input[name=excerpt]:checked").value);

  async function decoded(excerpt) {
    if (!buffers.has(excerpt)) {
      const sounds = document.querySelectorAll(`.sound[data-of="${excerpt}"]`);
      buffers.set(excerpt, await Promise.all([...sounds].map(async (one) => context.decodeAudioData(await soundOf(one)))));
    }
    return buffers.get(excerpt);
  }

  async function begin() {
    context = context || new AudioContext();
    await context.resume();
    const sounds = await decoded(chosen());
    stop();
    const at = context.currentTime + 0.05;
    const voices = sounds.map((buffer, copy) => {
      const source = new AudioBufferSourceNode(context, { buffer, loop: true });
      const gain = new GainNode(context, { gain: copy === audible() ? 1 : 0 });
      source.connect(gain).connect(context.destination);
      source.start(at);
      return { source, gain };
    });
    running = { voices, at, length_s: sounds[0].duration };
    play.setAttribute("aria-pressed", "true");
    play.textContent = "Stop";
    requestAnimationFrame(tick);
  }

  function stop() {
    if (running) running.voices.forEach(({ source }) => source.stop());
    running = null;
    play.setAttribute("aria-pressed", "false");
    play.textContent = "Play";
  }

  function tick() {
    if (!running) return;
    const passed = Math.max(0, context.currentTime - running.at) % running.length_s;
    byId("position").textContent = `${passed.toFixed(1)} s`;
    requestAnimationFrame(tick);
  }

  /** Number of the copy that is heard: 2 stands for the unknown one of a trial. */
  const audible = () => (heard === 2 ? run.drawn : heard);

  function hear(which) {
    if (which === 2 && !run) return;
    heard = which;
    [first, second, unknown].forEach((button, copy) => button.setAttribute("aria-pressed", String(copy === which)));
    if (!running) return;
    const now = context.currentTime;
    running.voices.forEach(({ gain }, copy) => {
      gain.gain.cancelScheduledValues(now);
      gain.gain.setValueAtTime(gain.gain.value, now);
      gain.gain.linearRampToValueAtTime(copy === audible() ? 1 : 0, now + FADE_S);
    });
  }

  const draw = () => crypto.getRandomValues(new Uint8Array(1))[0] & 1;

  function startRun() {
    run = { drawn: draw(), right: 0, trials: 0 };
    [unknown, isFirst, isSecond, end].forEach((button) => { button.disabled = false; });
    start.disabled = true;
    byId("result").textContent = "Trial 1.";
    hear(2);
  }

  function vote(which) {
    run.trials += 1;
    run.right += which === run.drawn ? 1 : 0;
    run.drawn = draw();
    byId("result").textContent = `Trial ${run.trials + 1}.`;
    hear(2);
  }

  /** Chance of at least so many right answers by guessing alone: the upper tail of a binomial distribution. */
  function chance(right, trials) {
    let tail = 0, term = 0.5 ** trials;
    for (let k = 0; k <= trials; k += 1) {
      if (k >= right) tail += term;
      term *= (trials - k) / (k + 1);
    }
    return Math.min(1, tail);
  }

  function endRun() {
    const { right, trials } = run;
    byId("result").textContent = trials
      ? `${right} of ${trials} right. Guessing alone gives at least as many with a probability of ${(100 * chance(right, trials)).toFixed(1)} %.`
      : "No trial was answered.";
    run = null;
    hear(0);
    [unknown, isFirst, isSecond, end].forEach((button) => { button.disabled = true; });
    start.disabled = false;
    start.focus();
  }

  play.addEventListener("click", () => (running ? stop() : begin()));
  first.addEventListener("click", () => hear(0));
  second.addEventListener("click", () => hear(1));
  unknown.addEventListener("click", () => hear(2));
  start.addEventListener("click", startRun);
  isFirst.addEventListener("click", () => vote(0));
  isSecond.addEventListener("click", () => vote(1));
  end.addEventListener("click", endRun);
  document.querySelectorAll("input[name=excerpt]").forEach((input) => input.addEventListener("change", () => running && begin()));
  document.addEventListener("keydown", (event) => {
    const within = event.target.closest("button, input, summary, a, select");
    if (event.target.closest("input:not([type=radio]), select, textarea")) return;
    if (event.key === "1") hear(0);
    else if (event.key === "2") hear(1);
    else if (event.key === " " && !within) { event.preventDefault(); play.click(); }
  });
})();
