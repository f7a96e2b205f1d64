// The page of a track: the position is drawn over the plots while it plays, a click goes there, Enter marks the place.
import { afterwards } from "./desk.js";
import { player } from "./player.js";
import { wave } from "./wave.js";

const article = document.querySelector("article.track");
const position = Number(article.dataset.position);
const { audio, goTo } = player(document.body.dataset.release);

// The plots state the part of the track that they show as their viewBox, in thousandths of its length (sheet.js).
const plots = document.querySelector(".plots");
const duration = plots ? Number(plots.dataset.duration) : 0;
const shown = (field) => {
  const [left, , width] = field.querySelector("svg").getAttribute("viewBox").split(" ").map(Number);
  return { from: (left / 1000) * duration, span: (width / 1000) * duration };
};
const fields = plots ? [...plots.querySelectorAll(".field")] : [];
const heads = fields.map((field) => {
  const head = document.createElement("div");
  head.className = "playhead";
  head.hidden = true;
  field.append(head);
  return head;
});
const draw = () => {
  fields.forEach((field, at) => {
    const { from, span } = shown(field);
    const x = (100 * (audio.currentTime - from)) / span;
    heads[at].hidden = !audio.src || x < 0 || x > 100;
    heads[at].style.left = `${x}%`;
  });
  if (!audio.paused) requestAnimationFrame(draw);
};
for (const kind of ["play", "pause", "seeked", "ended", "loadedmetadata"]) audio.addEventListener(kind, draw);
for (const field of fields) {
  new MutationObserver(draw).observe(field.querySelector("svg"), { attributeFilter: ["viewBox"] });
  let pressed = 0;
  field.addEventListener("pointerdown", (event) => { pressed = event.clientX; });
  field.addEventListener("click", (event) => {
    if (Math.abs(event.clientX - pressed) > 4) return; // drawn over a part: the plots zoom into it
    const box = field.getBoundingClientRect(), { from, span } = shown(field);
    goTo(position, from + (span * (event.clientX - box.left)) / box.width);
  });
}

if (plots?.querySelector(".plot.wave")) wave({ plots, position, shown, duration });

// Noting in the QC log.
const form = document.getElementById("noting"), at = document.getElementById("at_s"), said = document.getElementById("marked");
const clock = (seconds) => {
  const thousandths = Math.round(seconds * 1000);
  const second = String((thousandths % 60000) / 1000).padStart(2, "0");
  return `${Math.floor(thousandths / 60000)}:${second.indexOf(".") === 1 ? `0${second}` : second}`;
};
const mark = (seconds) => {
  at.value = seconds === null ? "" : String(Math.round(seconds * 1000) / 1000);
  said.textContent = seconds === null ? "throughout" : clock(seconds);
};
const marking = () => { mark(audio.currentTime); document.getElementById("what").focus(); };
document.getElementById("mark").addEventListener("click", marking);
document.getElementById("unmark").addEventListener("click", () => mark(null));
document.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || event.target.closest("input:not([type=range]), textarea, button, summary, a, select")) return;
  event.preventDefault();
  marking();
});
const names = () => {
  const by = localStorage.getItem("by");
  if (by) for (const input of form.querySelectorAll(".by-name")) if (!input.value) input.value = by;
};
names();
afterwards(async (told) => {
  if (!told.noted) return;
  const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
  const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
  const now = fresh.getElementById("log");
  if (!answer.ok || !now) { location.reload(); return; }
  document.getElementById("log").replaceWith(now);
  const by = form.elements.by.value;
  form.reset();
  form.elements.by.value = by;
  mark(null);
  document.activeElement.blur(); // the space bar plays again
});
