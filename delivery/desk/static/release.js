// The page of a release: kept up to date, edited in place, played.
import { afterwards, digest, post, posts, say } from "./desk.js";
import { cells } from "./cells.js";
import { player } from "./player.js";

const release = document.body.dataset.release;

// The page is made by the server alone: it is fetched again, and what changed is put in place.
let fetching = false, again = false;
export const refresh = async () => {
  if (fetching) { again = true; return; }
  fetching = true;
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
    const open = new Set([...document.querySelectorAll("details[open]")].map(keyOf));
    const focused = document.activeElement?.id;
    editor?.sync(fresh);
    for (const part of document.querySelectorAll("[data-live]")) {
      const now = fresh.getElementById(part.id);
      if (now && now.outerHTML !== part.outerHTML && !part.contains(document.activeElement?.closest("form") || null)) part.replaceWith(now);
    }
    const frame = fresh.querySelector("iframe.shown");
    if (frame && !document.querySelector("iframe.shown")) { location.reload(); return; }
    for (const details of document.querySelectorAll("details")) if (open.has(keyOf(details))) details.open = true;
    if (focused && document.activeElement === document.body) document.getElementById(focused)?.focus();
    names();
  } catch {
    say("The desk does not answer: it was closed. Start it again with 'delivery desk'.");
  } finally {
    fetching = false;
    if (again) { again = false; refresh(); }
  }
};
const keyOf = (details) => `${details.closest("[id]")?.id} ${details.querySelector("summary").textContent}`;

// A name typed once is proposed from then on.
const names = () => {
  const by = localStorage.getItem("by");
  if (by) for (const input of document.querySelectorAll(".by-name")) if (!input.value) input.value = by;
};
names();
afterwards(refresh);

const rows = document.getElementById("rows");
const editor = rows ? cells({ release, refresh }) : null;
if (document.getElementById("player")) player(release);

// Events of the server.
const left = (seconds) => {
  if (seconds === null || seconds === undefined) return "";
  const whole = Math.max(1, Math.round(seconds));
  return whole < 60 ? `about ${whole} s left` : `about ${Math.round(whole / 60)} min left`;
};
const source = new EventSource(`${release}/events`);
source.addEventListener("progress", (event) => {
  const told = JSON.parse(event.data), box = document.getElementById("progress");
  if (!box) { refresh(); return; }
  const bar = box.querySelector("progress");
  box.hidden = false;
  box.querySelector("label").textContent = `${told.text}, ${told.done} of ${told.total}`;
  bar.max = told.total || 1;
  bar.value = told.done;
  box.querySelector(".left").textContent = left(told.left_s);
  if (told.text === "measuring masters" && rows) {
    [...rows.rows].slice(0, told.done).forEach((row) => {
      const state = row.querySelector(".result .soft");
      if (state) state.textContent = "measured";
    });
  }
});
source.addEventListener("checked", refresh);
source.addEventListener("built", refresh);
source.addEventListener("edited", (event) => { if (JSON.parse(event.data).digest !== digest()) refresh(); });
source.addEventListener("changed", async () => {
  await refresh();
  say("A file of this release was changed by another program; the page shows it as it is now.");
});
source.addEventListener("error", () => {
  if (source.readyState === EventSource.CLOSED) say("The desk does not answer: it was closed.");
});

// A cover, chosen or dropped.
const place = document.querySelector("[data-drop]");
if (place) {
  const take = async (file) => {
    if (file && await post(place.dataset.drop, file, { "X-Digest": digest() })) location.reload();
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
