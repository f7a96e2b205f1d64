// The page of a release: kept up to date, edited in place, played.
import { afterwards, digest, post, posts, say } from "./desk.js";
import { cells } from "./cells.js";
import { player } from "./player.js";

const release = document.body.dataset.release;

// The page is made by the server alone: it is fetched again, and what changed is put in place.
let running = null, again = false;
export const refresh = () => {
  if (running) again = true;
  else running = (async () => {
    do { again = false; await fetched(); } while (again);
    running = null;
  })();
  return running;
};
const fetched = async () => {
  try {
    const begun = posts.begun;
    const answer = await fetch(location.href, { headers: { Accept: "text/html" } });
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (posts.waiting || posts.begun !== begun) {
      await new Promise((done) => { setTimeout(done, 100); });
      again = true;
      return;
    }
    if (!answer.ok || fresh.body.dataset.release !== release) { location.reload(); return; }
    if ((document.getElementById("rows") === null) !== (fresh.getElementById("rows") === null)) { location.reload(); return; }
    document.body.dataset.digest = fresh.body.dataset.digest;
    document.body.dataset.seen = fresh.body.dataset.seen;
    letters(fresh);
    const open = new Set([...document.querySelectorAll("details[open]")].map(keyOf));
    const focused = placeOf(document.activeElement);
    editor?.sync(fresh);
    for (const part of document.querySelectorAll("[data-live]")) {
      const now = fresh.getElementById(part.id);
      if (now && now.outerHTML !== part.outerHTML && !part.contains(document.activeElement?.closest("form") || null)) part.replaceWith(now);
    }
    const shown = (page) => page.querySelector(".shown")?.dataset.key;
    const busy = fresh.getElementById("progress") && shown(fresh) === undefined; // what was shown stays meanwhile
    if (!busy && shown(fresh) !== shown(document)) { location.reload(); return; }
    for (const details of document.querySelectorAll("details")) if (open.has(keyOf(details))) details.open = true;
    if (document.activeElement === document.body) focusAt(focused);
    names();
  } catch {
    say("The desk does not answer: it was closed. Start it again with 'delivery desk'.");
  }
};
// Characters that a new text needs; the old ones stay until these have arrived.
const letters = (fresh) => {
  const old = document.getElementById("fonts"), now = fresh.getElementById("fonts");
  if (!old || !now || old.getAttribute("href") === now.getAttribute("href")) return;
  const more = document.importNode(now);
  old.id = "";
  more.addEventListener("load", () => old.remove());
  old.after(more);
};
const keyOf = (details) => `${details.closest("[id]")?.id} ${details.querySelector("summary").textContent}`;

// Where the focus was, so that it is there again when its part was replaced; else at the head of that part.
const placeOf = (one) => (one && one !== document.body
  ? { within: [...ids(one)], name: one.localName, text: one.textContent } : { within: [] });
function* ids(one) { for (let at = one; at; at = at.parentElement) if (at.id) yield at.id; }
const focusAt = ({ within, name, text }) => {
  for (const id of within) {
    const holder = document.getElementById(id);
    if (!holder) continue;
    const same = [...holder.querySelectorAll(name)].find((one) => one.textContent === text);
    const place = id === within[0] && holder.matches("a, button, input, textarea, summary, [tabindex]") ? holder : same;
    (place || headOf(holder)).focus();
    return;
  }
};
const headOf = (holder) => {
  const place = holder.querySelector("h2, p") || holder;
  place.tabIndex = -1;
  return place;
};

// A name typed once is proposed from then on.
const names = () => {
  const by = localStorage.getItem("by");
  if (by) for (const input of document.querySelectorAll(".by-name")) if (!input.value) input.value = by;
};
names();

// A form that was answered lets go of the focus, or its part could not be put anew; the next note of its list has it.
afterwards(async (_told, form) => {
  const note = form?.closest("#notes li");
  const next = note?.nextElementSibling?.id, group = note?.closest("section")?.querySelector("h2").id;
  if (form?.contains(document.activeElement)) document.activeElement.blur();
  if (note) form.closest("details").open = false;
  await refresh();
  if (!note) return;
  const place = next && document.querySelector(`#${CSS.escape(next)} :is(summary, a, button)`);
  (place || headOf(document.getElementById(group)?.parentElement || document.getElementById("notes"))).focus();
});

// On a telephone the pictures of a comparison are wider than the page: the keyboard moves them, too.
for (const figure of document.querySelectorAll(".shown figure")) figure.tabIndex = 0;

const rows = document.getElementById("rows");
const editor = rows ? cells({ release, refresh }) : null;
if (document.getElementById("player")) player(release);

// Events of the server.
const left = (seconds) => {
  if (seconds === null || seconds === undefined) return "";
  const whole = Math.max(1, Math.round(seconds));
  return whole < 60 ? `about ${whole} s left` : `about ${Math.round(whole / 60)} min left`;
};
const on = [];
const listen = (kind, done) => on.push([kind, done]);
listen("progress", (event) => {
  const told = JSON.parse(event.data), box = document.getElementById("progress");
  if (!box) { refresh(); return; }
  const bar = box.querySelector("progress");
  box.hidden = false;
  box.querySelector("label").textContent = `${told.text}, ${told.done} of ${told.total}${told.file ? `: ${told.file}` : ""}`;
  bar.max = told.total || 1;
  bar.value = told.done;
  box.querySelector(".left").textContent = left(told.left_s);
  if (told.text === "measuring masters" && rows) {
    [...rows.rows].slice(0, told.done).forEach((row) => {
      const state = row.querySelector(".result .soft");
      if (state) state.textContent = "measured";
    });
    const begun = [...rows.rows].slice(told.done).find((row) => row.dataset.file === told.file)?.querySelector(".result .soft");
    if (begun) begun.textContent = "measuring";
  }
});
listen("missed", refresh);
listen("checked", refresh);
listen("built", refresh);
listen("edited", (event) => { if (JSON.parse(event.data).digest !== digest()) refresh(); });
listen("changed", async () => {
  await refresh();
  say("A file of this release was changed by another program; the page shows it as it is now.");
});

// A browser keeps at most six connections to one server: a page that nobody sees gives its own back.
let source = null;
const connect = () => {
  source = new EventSource(`${release}/events?seen=${document.body.dataset.seen}`);
  for (const [kind, done] of on) source.addEventListener(kind, done);
  source.addEventListener("error", () => {
    if (source?.readyState === EventSource.CLOSED) say("The desk does not answer: it was closed.");
  });
};
const disconnect = () => { source?.close(); source = null; };
document.addEventListener("visibilitychange", () => {
  if (document.hidden) disconnect();
  else if (!source) { connect(); refresh(); }
});
addEventListener("pagehide", disconnect);
addEventListener("pageshow", (event) => { if (event.persisted && !source) { connect(); refresh(); } });
if (!document.hidden) connect();

// A cover, chosen or dropped.
const place = document.querySelector("[data-drop]");
if (place) {
  const take = async (file) => {
    if (file && await post(place.dataset.drop, file)) location.reload();
  };
  place.addEventListener("change", (event) => take(event.target.files?.[0]));
  place.addEventListener("dragover", (event) => { if (event.dataTransfer.types.includes("Files")) event.preventDefault(); });
  place.addEventListener("drop", (event) => { event.preventDefault(); take(event.dataTransfer.files[0]); });
}

// A note points at its cell.
document.addEventListener("click", (event) => {
  const link = event.target.closest("a[data-cell]");
  const cell = link && document.getElementById(link.dataset.cell);
  if (cell) { event.preventDefault(); cell.focus(); cell.scrollIntoView({ block: "center" }); }
  else if (link) location.assign(`${release}?columns=all#${link.dataset.cell}`);
  if (link && !cell) event.preventDefault();
});
if (location.hash.startsWith("#c-")) document.getElementById(location.hash.slice(1))?.focus();
