"use strict";
(() => {
  // Light or dark: the reader's system decides until the button is used. Nothing is stored.
  const theme = document.querySelector(".theme");
  const system = matchMedia("(prefers-color-scheme: dark)");
  const dark = () => (document.documentElement.dataset.theme || (system.matches ? "dark" : "light")) === "dark";
  const nameTheme = () => { theme.textContent = dark() ? "Light page" : "Dark page"; };
  theme.hidden = false;
  theme.addEventListener("click", () => {
    document.documentElement.dataset.theme = dark() ? "light" : "dark";
    nameTheme();
  });
  system.addEventListener("change", nameTheme);
  nameTheme();

  // Tables sort by any column; a second press turns the order, equal rows keep theirs.
  const valueOf = (row, column) => {
    const cell = row.cells[column];
    return (cell.dataset.sort || cell.textContent).trim();
  };
  const order = (one, other) => {
    const a = Number(one), b = Number(other);
    if (one !== "" && other !== "" && !Number.isNaN(a) && !Number.isNaN(b)) return a - b;
    if (Number.isNaN(a) !== Number.isNaN(b)) return Number.isNaN(a) ? 1 : -1;
    return one.localeCompare(other, "en", { numeric: true });
  };
  for (const table of document.querySelectorAll("table.sortable")) {
    const heads = [...table.tHead.rows[0].cells];
    heads.forEach((head, column) => {
      const button = document.createElement("button");
      button.type = "button";
      button.textContent = head.textContent;
      head.replaceChildren(button);
      button.addEventListener("click", () => {
        const up = head.getAttribute("aria-sort") !== "ascending";
        heads.forEach((each) => each.removeAttribute("aria-sort"));
        head.setAttribute("aria-sort", up ? "ascending" : "descending");
        const rows = [...table.tBodies[0].rows].sort((one, other) => {
          const found = order(valueOf(one, column), valueOf(other, column));
          return up ? found : -found;
        });
        table.tBodies[0].append(...rows);
      });
    });
  }

  // Plots: one axis of time for the waveform and the loudness of a track.
  const clock = (seconds, digits) => {
    const scale = 10 ** digits;
    const whole = Math.round(seconds * scale);
    const part = whole % scale, units = (whole - part) / scale;
    const second = units % 60, minutes = (units - second) / 60, minute = minutes % 60, hours = (minutes - minute) / 60;
    const head = hours ? `${hours}:${String(minute).padStart(2, "0")}` : `${minute}`;
    return `${head}:${String(second).padStart(2, "0")}${digits ? "." + String(part).padStart(digits, "0") : ""}`;
  };
  const STEPS = [0.00001, 0.00002, 0.00005, 0.0001, 0.0002, 0.0005, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 1200, 3600];
  const numbers = (text) => (text ? text.split(" ") : []);
  const minus = (text) => text.replace(/-(?=\d)/g, "\u2212");
  const clamp = (value, low, high) => Math.min(Math.max(value, low), high);

  class Plots {
    constructor(root) {
      this.root = root;
      this.duration = Number(root.dataset.duration);
      this.lufs = numbers(root.dataset.lufs);
      this.peaks = numbers(root.dataset.peaks);
      this.finest = Math.min(this.duration, Number(root.dataset.finest) || this.duration / 64 + 0.5);
      this.first = Number(root.dataset.first);
      this.step = Number(root.dataset.step);
      this.start = 0;
      this.span = this.duration;
      this.at = 0;
      this.readout = root.querySelector(".readout");
      this.slider = root.querySelector(".times");
      this.fields = [...root.querySelectorAll(".field")];
      this.cursors = this.fields.map((field) => this.added(field, "cursor"));
      this.boxes = this.fields.map((field) => this.added(field, "chosen"));
      this.boxes.forEach((box) => { box.hidden = true; });
      this.begin();
    }

    added(parent, name) {
      const made = document.createElement("div");
      made.className = name;
      parent.append(made);
      return made;
    }

    begin() {
      const tools = this.root.querySelector(".tools");
      tools.hidden = false;
      tools.addEventListener("click", (event) => {
        const what = event.target.dataset.do;
        if (what) this.zoom({ in: 0.5, out: 2, whole: Infinity, finest: 0 }[what]);
      });
      const slider = this.slider;
      slider.setAttribute("role", "slider");
      slider.tabIndex = 0;
      slider.setAttribute("aria-valuemin", "0");
      slider.setAttribute("aria-valuemax", String(Math.round(this.duration * 10) / 10));
      slider.addEventListener("keydown", (event) => this.key(event));
      slider.addEventListener("click", (event) => this.move(this.timeAt(event)));
      this.thumb = document.createElement("span");
      this.thumb.className = "thumb";
      this.fields.forEach((field) => this.listen(field));
      this.draw();
      this.move(0);
    }

    listen(field) {
      let from = null;
      field.addEventListener("pointermove", (event) => {
        const time = this.timeAt(event);
        if (from === null) {
          if (event.pointerType === "mouse") this.move(time);
          return;
        }
        this.choose(from, time);
      });
      field.addEventListener("pointerdown", (event) => {
        this.move(this.timeAt(event));
        if (event.pointerType !== "mouse" || event.button) return;
        from = this.timeAt(event);
        field.setPointerCapture(event.pointerId);
      });
      field.addEventListener("pointerup", (event) => {
        if (from === null) return;
        const to = this.timeAt(event);
        const share = Math.abs(to - from) / this.span;
        if (share > 0.01) this.show(Math.min(from, to), Math.abs(to - from));
        from = null;
        this.choose(0, 0);
      });
      field.addEventListener("pointercancel", () => { from = null; this.choose(0, 0); });
      field.addEventListener("dblclick", () => this.zoom(Infinity));
    }

    choose(from, to) {
      for (const box of this.boxes) {
        box.hidden = from === to;
        box.style.left = `${this.percent(Math.min(from, to))}%`;
        box.style.width = `${(100 * Math.abs(to - from)) / this.span}%`;
      }
    }

    timeAt(event) {
      const area = this.slider.getBoundingClientRect();
      return clamp(this.start + (this.span * (event.clientX - area.left)) / area.width, 0, this.duration);
    }

    percent(time) { return (100 * (time - this.start)) / this.span; }

    zoom(factor) {
      const span = clamp(this.span * factor, this.finest, this.duration);
      this.show(this.at - (span * (this.at - this.start)) / this.span, span);
    }

    show(start, span) {
      this.span = clamp(span, this.finest, this.duration);
      this.start = clamp(start, 0, this.duration - this.span);
      this.at = clamp(this.at, this.start, this.start + this.span);
      this.draw();
      this.move(this.at);
    }

    draw() {
      const left = (1000 * this.start) / this.duration, width = (1000 * this.span) / this.duration;
      for (const field of this.fields) field.querySelector("svg").setAttribute("viewBox", `${left} 0 ${width} 100`);
      for (const mark of this.root.querySelectorAll(".mark")) {
        const x = this.percent(Number(mark.dataset.x) * this.duration);
        mark.hidden = x < 0 || x > 100;
        mark.style.left = `${x}%`;
      }
      if (this.span < this.duration || this.slider.dataset.zoomed) this.ticks();
      this.slider.append(this.thumb);
    }

    ticks() {
      this.slider.dataset.zoomed = "yes";
      const room = Math.max(2, Math.min(8, Math.floor(this.slider.clientWidth / 70)));
      const step = STEPS.find((each) => this.span / each <= room) || STEPS[STEPS.length - 1];
      const made = [];
      for (let n = Math.ceil(this.start / step - 1e-9); n * step <= this.start + this.span; n += 1) {
        const x = this.percent(n * step);
        if (x > 92) break;
        const tick = document.createElement("span");
        tick.className = "tick plain";
        tick.textContent = clock(n * step, Math.max(0, -Math.floor(Math.log10(step) + 1e-9)));
        tick.style.left = `${x}%`;
        made.push(tick);
      }
      this.slider.replaceChildren(...made);
    }

    move(time) {
      this.at = clamp(time, 0, this.duration);
      const x = this.percent(this.at);
      for (const cursor of this.cursors) cursor.style.left = `${x}%`;
      this.thumb.style.left = `${x}%`;
      const digits = this.span < 0.02 ? 5 : this.span < 2 ? 3 : 1;
      const said = [clock(this.at, digits), ...this.values()].join(", ");
      this.readout.textContent = minus(said);
      this.slider.setAttribute("aria-valuenow", this.at.toFixed(digits));
      this.slider.setAttribute("aria-valuetext", said);
    }

    values() {
      const said = [];
      const loud = this.lufs[Math.round((this.at - this.first) / this.step)];
      if (loud !== undefined) said.push(`loudness ${loud} LUFS`);
      const more = this.root.detailAt?.(this.at); // of a page that has the samples at hand
      if (more) return [...said, more];
      const count = this.peaks.length;
      const peak = this.peaks[clamp(Math.floor((count * this.at) / this.duration), 0, count - 1)];
      if (peak !== undefined) said.push(`peak ${peak} dBFS`);
      return said;
    }

    key(event) {
      if (event.ctrlKey || event.metaKey || event.altKey) return;
      const to = {
        ArrowLeft: this.at - this.span / 100, ArrowDown: this.at - this.span / 100,
        ArrowRight: this.at + this.span / 100, ArrowUp: this.at + this.span / 100,
        PageDown: this.at - this.span / 10, PageUp: this.at + this.span / 10, Home: 0, End: this.duration,
      }[event.key];
      const factor = { "+": 0.5, "=": 0.5, "-": 2, "0": Infinity }[event.key];
      if (to === undefined && factor === undefined) return;
      event.preventDefault();
      if (factor !== undefined) { this.zoom(factor); return; }
      const time = clamp(to, 0, this.duration);
      if (time < this.start || time > this.start + this.span) {
        this.at = time;
        this.show(time - this.span / 2, this.span);
      }
      this.move(time);
    }

    jump(time) {
      this.at = clamp(time, 0, this.duration);
      this.show(this.at - 5, 10);
      this.move(time);
      this.root.scrollIntoView({ block: "center" });
      this.slider.focus({ preventScroll: true });
    }
  }

  const all = new Map();
  for (const root of document.querySelectorAll(".plots")) all.set(root.dataset.track, new Plots(root));
  document.addEventListener("click", (event) => {
    const link = event.target.closest("a.jump");
    const plots = link && all.get(link.dataset.track);
    if (!plots) return;
    event.preventDefault();
    plots.jump(Number(link.dataset.at));
  });
  // Paper shows what is folded on the screen.
  addEventListener("beforeprint", () => document.querySelectorAll("details").forEach((each) => { each.open = true; }));
  addEventListener("beforeprint", () => all.forEach((plots) => plots.zoom(Infinity)));
})();
