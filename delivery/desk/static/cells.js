// Cells edited in place, as in a spreadsheet; rows moved by keyboard and mouse. Every text goes to the server, which
// reads it as the same cell of a client's sheet.
import { digest, post, say } from "./desk.js";

export const cells = ({ release, refresh }) => {
  const rows = document.getElementById("rows");
  const saved = new Map();
  const all = () => [...document.querySelectorAll("textarea.cell")];
  const fit = (cell) => {
    if (CSS.supports("field-sizing", "content")) return;
    cell.style.height = "auto";
    cell.style.height = `${cell.scrollHeight}px`;
  };
  const ready = (cell) => {
    cell.readOnly = false;
    saved.set(cell.id, cell.value);
    fit(cell);
  };
  const open = () => {
    all().forEach(ready);
    for (const handle of rows.querySelectorAll(".handle")) { handle.disabled = false; handle.draggable = true; }
  };
  const dirty = (cell) => saved.get(cell.id) !== cell.value;
  const clear = (cell) => {
    document.getElementById(`${cell.id}-why`)?.remove();
    cell.removeAttribute("aria-invalid");
    cell.removeAttribute("aria-describedby");
  };
  const refuse = (cell, why) => {
    clear(cell);
    const told = document.createElement("span");
    told.id = `${cell.id}-why`;
    told.className = "refused";
    told.textContent = why;
    cell.after(told);
    cell.setAttribute("aria-invalid", "true");
    cell.setAttribute("aria-describedby", told.id);
  };
  let queue = Promise.resolve();
  const write = (changes) => {
    queue = queue.then(() => writeNow(changes));
    return queue;
  };
  const writeNow = async (changes) => {
    const told = await post(`${release}/cells`, { cells: changes.map(({ cell, text }) => ({ cell: cell.id, text })) });
    if (!told) {
      for (const { cell } of changes) refuse(cell, "Not written: see below. Press Enter in this cell to try again.");
      await refresh();
      return;
    }
    const why = new Map(told.refused.map((one) => [one.cell, one.why]));
    for (const { cell, text } of changes) {
      if (why.has(cell.id)) { refuse(cell, why.get(cell.id)); continue; }
      clear(cell);
      const now = told.texts[cell.id] ?? text;
      if (cell.value === text) { cell.value = now; fit(cell); }
      saved.set(cell.id, now);
      cell.classList.remove("guess");
      cell.classList.toggle("empty", !now);
    }
    if (why.size) say(`${why.size === 1 ? "One cell was" : `${why.size} cells were`} not taken; the reason stands below it.`);
    document.getElementById("undo").disabled = false;
  };

  document.addEventListener("focusin", (event) => {
    if (event.target.matches("textarea.cell")) say(event.target.dataset.hint);
  });
  document.addEventListener("focusout", (event) => {
    const cell = event.target;
    if (cell.matches?.("textarea.cell") && dirty(cell)) write([{ cell, text: cell.value }]);
  });
  document.addEventListener("input", (event) => { if (event.target.matches("textarea.cell")) fit(event.target); });
  document.addEventListener("keydown", async (event) => {
    const cell = event.target.closest?.("textarea.cell");
    if (cell && event.key === "Enter" && !event.isComposing) {
      event.preventDefault();
      const next = beside(cell, event.shiftKey ? -1 : 1, 0);
      if (next) { next.focus(); next.select(); } else cell.blur();
    } else if (cell && event.key === "Escape") {
      cell.value = saved.get(cell.id);
      clear(cell);
      fit(cell);
    } else if ((event.ctrlKey || event.metaKey) && !event.shiftKey && event.key.toLowerCase() === "z" && !(cell && dirty(cell))) {
      if (event.target.closest?.("input")) return;
      event.preventDefault();
      const told = await post(`${release}/undo`, {});
      if (told) { await refresh(); say(told.undone ? "Undone." : "Nothing left to undo."); }
    }
  });

  const table = () => [...rows.rows].map((row) => [...row.querySelectorAll("textarea.cell")]);
  const beside = (cell, down, right) => {
    const grid = table();
    const row = grid.findIndex((one) => one.includes(cell));
    return row < 0 ? null : grid[row + down]?.[grid[row].indexOf(cell) + right] || null;
  };

  // A block from a spreadsheet: rows by line, cells by tab, quoted where a cell holds either.
  document.addEventListener("paste", (event) => {
    const cell = event.target.closest?.("textarea.cell");
    const block = parsed(event.clipboardData.getData("text/plain"));
    if (!cell || (block.length === 1 && block[0].length === 1)) return;
    event.preventDefault();
    const changes = [];
    block.forEach((line, down) => line.forEach((text, right) => {
      const place = beside(cell, down, right);
      if (place) { place.value = text; fit(place); changes.push({ cell: place, text }); }
    }));
    if (changes.length) write(changes).then(() => { if (document.getElementById("status").textContent === "") say(`${changes.length} cells written.`); });
  });

  // Rows.
  const move = async (row, before) => {
    const position = row.dataset.position;
    const order = [...rows.rows].map((one) => Number(one.dataset.position)).filter((one) => String(one) !== position);
    const at = before ? order.indexOf(Number(before.dataset.position)) : order.length;
    order.splice(at, 0, Number(position));
    if (order.join() === [...rows.rows].map((one) => one.dataset.position).join()) return;
    const told = await post(`${release}/order`, { order });
    if (!told) return;
    await refresh();
    document.getElementById(`move-${order.indexOf(Number(position)) + 1}`)?.focus();
    say(`Track ${position} is now number ${order.indexOf(Number(position)) + 1} of ${order.length}.`);
  };
  rows.addEventListener("keydown", (event) => {
    const handle = event.target.closest(".handle");
    if (!handle || !["ArrowUp", "ArrowDown"].includes(event.key)) return;
    event.preventDefault();
    const row = handle.closest("tr"), up = event.key === "ArrowUp";
    const other = up ? row.previousElementSibling : row.nextElementSibling;
    if (other) move(row, up ? other : other.nextElementSibling);
  });
  let dragged = null;
  rows.addEventListener("dragstart", (event) => {
    dragged = event.target.closest?.(".handle") ? event.target.closest("tr") : null;
    if (dragged) { event.dataTransfer.effectAllowed = "move"; event.dataTransfer.setData("text/plain", ""); }
  });
  const target = (event) => {
    const row = event.target.closest("tr");
    const below = row && event.clientY > row.getBoundingClientRect().top + row.offsetHeight / 2;
    return [row, below];
  };
  const unmark = () => { for (const row of rows.rows) row.classList.remove("above", "below"); };
  rows.addEventListener("dragover", (event) => {
    if (!dragged) return;
    event.preventDefault();
    unmark();
    const [row, below] = target(event);
    row?.classList.add(below ? "below" : "above");
  });
  rows.addEventListener("drop", (event) => {
    if (!dragged) return;
    event.preventDefault();
    const [row, below] = target(event);
    if (row) move(dragged, below ? row.nextElementSibling : row);
  });
  rows.addEventListener("dragend", () => { dragged = null; unmark(); });

  open();
  return {
    // Take over the texts of a fresh page; a cell that is being edited keeps what is typed.
    sync(fresh) {
      const theirs = fresh.getElementById("rows");
      const files = (body) => [...body.rows].map((row) => row.dataset.file).join("\n");
      if (theirs.rows.length !== rows.rows.length || files(theirs) !== files(rows)) {
        const typing = document.activeElement?.matches("textarea.cell") && dirty(document.activeElement);
        if (typing) return;
        rows.replaceChildren(...theirs.children);
        open();
        return;
      }
      for (const handle of rows.querySelectorAll(".handle")) {
        handle.setAttribute("aria-label", fresh.getElementById(handle.id).getAttribute("aria-label"));
      }
      for (const cell of all()) {
        const now = fresh.getElementById(cell.id);
        if (!now || (cell === document.activeElement && dirty(cell)) || cell.hasAttribute("aria-invalid")) continue;
        cell.value = now.value;
        cell.className = now.className;
        saved.set(cell.id, now.value);
        fit(cell);
      }
    },
  };
};

export const parsed = (text) => {
  const lines = [[""]];
  let quoted = false;
  const body = text.replace(/\r\n?/g, "\n").replace(/\n$/, "");
  for (let at = 0; at < body.length; at += 1) {
    const sign = body[at], line = lines[lines.length - 1], last = line.length - 1;
    if (quoted && sign === '"' && body[at + 1] === '"') { line[last] += '"'; at += 1; }
    else if (quoted && sign === '"') quoted = false;
    else if (!quoted && sign === '"' && line[last] === "" && /^"(?:[^"]|"")*"(?:[\t\n]|$)/.test(body.slice(at))) quoted = true;
    else if (!quoted && sign === "\t") line.push("");
    else if (!quoted && sign === "\n") lines.push([""]);
    else line[last] += sign === "\n" ? " " : sign;
  }
  return lines;
};
