// Zoomed in, the wave is drawn from the master itself: the extremes of each column, or every sample.
// Its height follows the loudest sample in sight, in steps of two (6 dB); the axis states it in dBFS.
const MOST_S = 60, DEBOUNCE_MS = 80;
const LOUDEST = 4, QUIETEST = -24; // powers of two: +24 dBFS (float masters), and a step of 24 bits
const NAMES = ["left", "right"];
const SVG = "http://www.w3.org/2000/svg";

const dbfs = (value) => String(Math.round(20 * Math.log10(value))).replace("-", "\u2212");
const scaleFor = (peak) => {
  let power = QUIETEST;
  while (power < LOUDEST && 2 ** power < peak) power += 1;
  return peak > 0 ? 2 ** power : 1;
};
const path = (name, d) => {
  const made = document.createElementNS(SVG, "path");
  made.setAttribute("class", name);
  made.setAttribute("d", d);
  return made;
};

export const wave = ({ plots, position, shown, duration }) => {
  const plot = plots.querySelector(".plot.wave"), field = plot.querySelector(".field"), axis = plot.querySelector(".axis");
  const coarse = field.querySelector("svg"), told = document.getElementById("detail");
  const over = document.createElementNS(SVG, "svg");
  over.setAttribute("class", "detail");
  over.setAttribute("viewBox", "0 0 1000 100");
  over.setAttribute("preserveAspectRatio", "none");
  over.setAttribute("aria-hidden", "true");
  field.append(over);
  let drawn = null, turn = 0;

  const label = (scale) => {
    const texts = [dbfs(scale), dbfs(scale / 2), "\u2212\u221e", dbfs(scale / 2), dbfs(scale)];
    axis.replaceChildren(...texts.map((text, at) => {
      const made = document.createElement("span");
      made.style.top = `${25 * at}%`;
      made.textContent = text;
      return made;
    }));
  };
  // The spec's ceiling, and the places over it, as the picture of the whole track has them: here in this scale.
  const ceilings = [...coarse.querySelectorAll(".ceiling")].map((one) => (50 - Number(one.getAttribute("d").match(/^M0 ([\d.]+)/)[1])) / 50);
  const overs = [...coarse.querySelectorAll(".over")].map((one) => (Number(one.getAttribute("d").match(/^M([\d.]+)/)[1]) / 1000) * duration);

  const put = ({ from, span }, found) => {
    const peak = Math.max(0, ...[...found.high, ...found.low].map((one) => one.reduce((most, value) => Math.max(most, Math.abs(value)), 0)));
    const scale = scaleFor(peak);
    const y = (value) => (50 - (50 * value) / scale).toFixed(3);
    const x = (index) => ((1000 * ((found.first + index * found.per_column) / found.rate_hz - from)) / span).toFixed(3);
    const lines = found.high.map((high, channel) => {
      const name = `of-${channel}`;
      if (found.low.length) return path(`sound ${name}`, `M${high.map((value, at) => `${x(at)} ${y(value)}`).join("L")}L${found.low[channel].map((value, at) => `${x(at)} ${y(value)}`).reverse().join("L")}Z`);
      return path(`samples ${name}`, `M${high.map((value, at) => `${x(at)} ${y(value)}`).join("L")}`);
    });
    const room = found.low.length ? 0 : field.clientWidth / Math.max(1, found.high[0]?.length || 1);
    const dots = room > 5 ? found.high.map((high, channel) => path(`dots of-${channel}`, high.map((value, at) => `M${x(at)} ${y(value)}h0`).join(""))) : [];
    const limits = ceilings.filter((value) => Math.abs(value) <= scale).map((value) => path("ceiling", `M0 ${y(value)}H1000`));
    const places = overs.map((at_s) => (1000 * (at_s - from)) / span).filter((at) => at >= 0 && at <= 1000).map((at) => path("over", `M${at.toFixed(2)} 0V100`));
    over.replaceChildren(path("grid", "M0 0H1000M0 25H1000M0 50H1000M0 75H1000M0 100H1000"), ...lines, ...dots, ...limits, ...places);
    label(scale);
    const channels = found.high.length === 2 ? "; left solid, right dashed" : "";
    const what = found.low.length ? `${found.per_column} samples of the master in each column.` : `Every sample of the master${channels}.`;
    told.textContent = `${what} Full height is ${dbfs(scale)} dBFS.`;
  };
  const fine = (yes) => {
    over.toggleAttribute("hidden", !yes);
    coarse.classList.toggle("behind", yes);
    if (yes) return;
    drawn = null;
    told.textContent = "";
    label(1);
  };
  const look = async () => {
    const now = shown(field), mine = turn += 1;
    if (now.span > MOST_S || now.span >= duration) { fine(false); return; }
    await new Promise((done) => { setTimeout(done, DEBOUNCE_MS); });
    if (mine !== turn) return;
    const to = Math.min(duration, now.from + now.span);
    const columns = Math.max(100, Math.min(4000, Math.round(field.clientWidth * devicePixelRatio)));
    const answer = await fetch(`${document.body.dataset.release}/sound/${position}/detail?from_s=${now.from}&to_s=${to}&columns=${columns}`).catch(() => null);
    const found = answer?.ok ? await answer.json() : null;
    if (mine !== turn) return;
    fine(Boolean(found));
    if (found) { drawn = found; put(now, found); }
  };
  new MutationObserver(() => { fine(false); look(); }).observe(coarse, { attributeFilter: ["viewBox"] });
  label(1);
  plot.previousElementSibling.querySelector("span").append(", dBFS");
  plots.detailAt = (at_s) => {
    if (!drawn) return "";
    if (drawn.low.length) {
      const column = Math.floor((at_s * drawn.rate_hz - drawn.first) / drawn.per_column);
      const both = [...drawn.high, ...drawn.low].map((one) => Math.abs(one[column] ?? 0));
      const peak = Math.max(...both);
      return peak > 0 ? `peak ${(20 * Math.log10(peak)).toFixed(1)} dBFS` : "digital silence";
    }
    const index = Math.round(at_s * drawn.rate_hz) - drawn.first;
    if (!(index in drawn.high[0])) return "";
    const values = drawn.high.map((one, channel) => `${drawn.high.length === 2 ? `${NAMES[channel]} ` : ""}${one[index].toFixed(Math.abs(one[index]) < 0.001 ? 8 : 6)}`);
    return `sample ${drawn.first + index}: ${values.join(", ")}`;
  };
};
