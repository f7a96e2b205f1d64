// The page of a track: the position is drawn over the plots while it plays, a click goes there, Enter marks the place.
import { afterwards } from "./desk.js";
import { player } from "./player.js";

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

// Zoomed in, the wave is drawn from the master itself: the extremes of each column, or every sample.
const wave = document.querySelector(".plot.wave .field");
const MOST_S = 60, DEBOUNCE_MS = 80;
const NAMES = ["left", "right"];
if (wave) {
  const SVG = "http://www.w3.org/2000/svg";
  const over = document.createElementNS(SVG, "svg"), coarse = wave.querySelector("svg"), told = document.getElementById("detail");
  over.setAttribute("class", "detail");
  over.setAttribute("viewBox", "0 0 1000 100");
  over.setAttribute("preserveAspectRatio", "none");
  over.setAttribute("aria-hidden", "true");
  wave.append(over);
  let drawn = null, turn = 0;
  const path = (name, d) => {
    const made = document.createElementNS(SVG, "path");
    made.setAttribute("class", name);
    made.setAttribute("d", d);
    return made;
  };
  const y = (value) => (50 - 50 * value).toFixed(3);
  const put = ({ from, span }, found) => {
    const x = (index) => ((1000 * ((found.first + index * found.per_column) / found.rate_hz - from)) / span).toFixed(3);
    const lines = found.high.map((high, channel) => {
      const name = `of-${channel}`;
      if (found.low.length) return path(`sound ${name}`, `M${high.map((value, at) => `${x(at)} ${y(value)}`).join("L")}L${found.low[channel].map((value, at) => `${x(at)} ${y(value)}`).reverse().join("L")}Z`);
      return path(`samples ${name}`, `M${high.map((value, at) => `${x(at)} ${y(value)}`).join("L")}`);
    });
    const room = found.low.length ? 0 : wave.clientWidth / Math.max(1, found.high[0]?.length || 1);
    const dots = room > 5 ? found.high.map((high, channel) => path(`dots of-${channel}`, high.map((value, at) => `M${x(at)} ${y(value)}h0`).join(""))) : [];
    over.replaceChildren(path("grid", "M0 0H1000M0 50H1000M0 100H1000"), ...lines, ...dots);
    const channels = found.high.length === 2 ? "; left solid, right dashed" : "";
    told.textContent = found.low.length ? `${found.per_column} samples of the master in each column.` : `Every sample of the master${channels}.`;
  };
  const fine = (yes) => { over.toggleAttribute("hidden", !yes); coarse.classList.toggle("behind", yes); if (!yes) { drawn = null; told.textContent = ""; } };
  const look = async () => {
    const now = shown(wave), mine = turn += 1;
    if (now.span > MOST_S || now.span >= duration) { fine(false); return; }
    await new Promise((done) => { setTimeout(done, DEBOUNCE_MS); });
    if (mine !== turn) return;
    const to = Math.min(duration, now.from + now.span);
    const columns = Math.max(100, Math.min(4000, Math.round(wave.clientWidth * devicePixelRatio)));
    const answer = await fetch(`${document.body.dataset.release}/sound/${position}/detail?from_s=${now.from}&to_s=${to}&columns=${columns}`).catch(() => null);
    const found = answer?.ok ? await answer.json() : null;
    if (mine !== turn) return;
    fine(Boolean(found));
    if (found) { drawn = found; put(now, found); }
  };
  new MutationObserver(() => { fine(false); look(); }).observe(coarse, { attributeFilter: ["viewBox"] });
  plots.detailAt = (at_s) => {
    if (!drawn || drawn.low.length) return "";
    const index = Math.round(at_s * drawn.rate_hz) - drawn.first;
    if (!(index in drawn.high[0])) return "";
    const values = drawn.high.map((one, channel) => `${drawn.high.length === 2 ? `${NAMES[channel]} ` : ""}${one[index].toFixed(6)}`);
    return `sample ${drawn.first + index}: ${values.join(", ")}`;
  };
}

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
