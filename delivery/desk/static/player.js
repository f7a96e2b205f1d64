// Plays the masters' own samples; the space bar plays and pauses, a place begins two seconds before it.
import { say } from "./desk.js";

const BEFORE_S = 2;
const clock = (seconds) => {
  const tenths = Math.floor(seconds * 10), minutes = Math.floor(tenths / 600);
  return `${minutes}:${String(Math.floor(tenths / 10) % 60).padStart(2, "0")}.${tenths % 10}`;
};

export const player = (release) => {
  const box = document.getElementById("player");
  const button = box.querySelector(".play"), seek = box.querySelector("#seek"), time = box.querySelector(".time");
  const what = box.querySelector(".what"), heard = box.querySelector(".heard");
  const audio = new Audio();
  audio.preload = "auto";
  let track = 0, last = null;
  const title = (position) => {
    const row = document.querySelector(`tr[data-position="${position}"]`);
    const heading = document.querySelector("article.track h1");
    if (heading) return heading.textContent;
    return row ? `${row.querySelector(".handle").textContent} ${row.querySelector(".of-title textarea")?.value ?? ""}` : `Track ${position}`;
  };
  const load = async (position) => {
    track = position;
    const facts = await fetch(`${release}/sound/${position}/facts`).then((answer) => answer.json()).catch(() => ({}));
    if (!facts.text) { say(facts.message || "This master cannot be played."); return false; }
    heard.textContent = facts.text;
    what.textContent = title(position);
    audio.src = `${release}/sound/${position}?${facts.key}`;
    box.hidden = false;
    document.body.classList.add("playing");
    return true;
  };
  const play = async (position, at) => {
    if (position !== track && !await load(position)) return;
    const start = () => {
      audio.currentTime = Math.max(0, at - BEFORE_S);
      audio.play().catch(() => say("The browser did not play this sound."));
    };
    if (audio.readyState >= 1) start(); else audio.addEventListener("loadedmetadata", start, { once: true });
  };
  const toggle = () => { if (audio.paused) audio.play().catch(() => {}); else audio.pause(); };
  const show = () => {
    seek.max = audio.duration || 1;
    if (document.activeElement !== seek || !audio.paused) seek.value = audio.currentTime;
    time.textContent = `${clock(audio.currentTime)} of ${clock(audio.duration || 0)}`;
    seek.setAttribute("aria-valuetext", time.textContent);
    button.textContent = audio.paused ? "Play" : "Pause";
  };
  for (const kind of ["timeupdate", "loadedmetadata", "play", "pause", "seeked", "ended"]) audio.addEventListener(kind, show);
  audio.addEventListener("error", () => say("The browser cannot play this sound."));
  seek.addEventListener("input", () => { audio.currentTime = Number(seek.value); });
  button.addEventListener("click", toggle);
  document.addEventListener("click", (event) => {
    const hear = event.target.closest("[data-play]");
    if (!hear) return;
    last = hear;
    if (event.detail) hear.blur(); // after the mouse, the keys of the player are at hand
    play(Number(hear.dataset.play), Number(hear.dataset.at));
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === " " && last && event.target === last && audio.currentTime > 0) { // heard already: it pauses
      event.preventDefault();
      toggle();
      return;
    }
    if (event.key !== " " || event.target.closest("input:not([type=range]), textarea, button, summary, a, select")) return;
    event.preventDefault();
    if (track) toggle(); else play(Number(document.querySelector("tr[data-position], article.track[data-position]")?.dataset.position || 0), 0);
  });
  return { audio, goTo: (position, at) => play(position, at + BEFORE_S) };
};
