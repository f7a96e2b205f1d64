// A package dropped in: its names, sizes and times are offered first; its files follow, one after the other, if they must.
import { post, say, send } from "./desk.js";
import { refresh } from "./release.js";

const MANIFEST = "tagmanifest-sha256.txt";
const MOST_MANIFEST_BYTES = 16 * 2 ** 20;
let running = null; // of the transfer that is going on
let last = null;

// Everything below a folder: readEntries gives a part of it each time, and nothing at its end.
const below = async (folder, path, found) => {
  const reader = folder.createReader();
  for (;;) {
    const entries = await new Promise((done, failed) => { reader.readEntries(done, failed); });
    if (!entries.length) return found;
    for (const entry of entries) {
      const here = `${path}${entry.name}`;
      if (entry.isDirectory) await below(entry, `${here}/`, found);
      else found.push([here, await new Promise((done, failed) => { entry.file(done, failed); })]);
    }
  }
};
const hex = (bytes) => [...new Uint8Array(bytes)].map((one) => one.toString(16).padStart(2, "0")).join("");
const sumOf = async (files) => {
  const manifest = files.find(([path]) => path === MANIFEST)?.[1];
  if (!manifest || manifest.size > MOST_MANIFEST_BYTES) return "";
  return hex(await crypto.subtle.digest("SHA-256", await manifest.arrayBuffer()));
};

const offer = async ({ name, files }, copy) => {
  last = { name, files };
  running?.abort();
  const mine = running = new AbortController();
  const rows = files.map(([path, file]) => [path, file.size, file.lastModified]);
  const told = await post("received/offer", { name, files: rows, manifest: await sumOf(files), copy });
  if (!told || !told.transfer) { await refresh(); return; }
  for (const [number, [path, file]] of files.entries()) {
    try { await file.slice(0, 1).arrayBuffer(); } catch {
      await post("received/cancel", {});
      say(`The browser cannot read ${path}. Type the path of the folder instead.`);
      return;
    }
    const headers = { "X-Transfer": told.transfer, "X-File": String(number) };
    if (!await send("received/file", file, headers, mine.signal)) { await refresh(); return; }
  }
  if (await post("received/arrived", { transfer: told.transfer })) await refresh();
};
const zipOf = (file) => ({ name: file.name.replace(/\.zip$/i, "") || "package", files: [[file.name, file]] });

document.addEventListener("dragover", (event) => {
  if (!event.dataTransfer.types.includes("Files")) return;
  event.preventDefault();
  event.dataTransfer.dropEffect = "copy";
});
document.addEventListener("drop", async (event) => {
  event.preventDefault();
  const entries = [...event.dataTransfer.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  if (entries.length !== 1) { say("Drop one folder, or one zip file."); return; }
  const [entry] = entries;
  say(`Reading the names of the files in ${entry.name}.`);
  try {
    if (entry.isDirectory) await offer({ name: entry.name, files: await below(entry, "", []) }, false);
    else if (/\.zip$/i.test(entry.name)) await offer(zipOf(await new Promise((done, failed) => { entry.file(done, failed); })), false);
    else say("Drop the folder of a package, or its zip.");
  } catch (error) {
    say(`The browser cannot read what was dropped (${error.message}). Type its path instead.`);
  }
});
document.getElementById("pick-zip").addEventListener("change", (event) => {
  const file = event.target.files?.[0];
  if (file) offer(zipOf(file), false);
});
document.addEventListener("click", (event) => {
  if (event.target.closest("button[data-post='received/cancel']")) running?.abort();
  if (!event.target.closest("#copy-instead")) return;
  if (last) offer(last, true);
  else say("Drop the package on this page once more, then press this.");
});
document.getElementById("drop-package").dataset.ready = "yes";
