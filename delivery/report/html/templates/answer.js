"use strict";
(() => {
  // The client's answer: kept in the page until it is saved or copied. Nothing is sent and nothing is stored.
  const section = document.getElementById("answer");
  if (!section) return;
  const one = (within, what) => within.querySelector(what);
  const tracks = [...section.querySelectorAll("fieldset")];
  const template = one(section, "template"), state = one(section, "[role=status]");
  const by = one(section, ".by"), day = one(section, ".date"), remark = one(section, ".remark"), text = one(section, ".text");
  const TIME = /^(?:(?:\d{1,2}:)?[0-5]?\d:)?[0-5]?\d(?:\.\d{1,3})?$/;
  let unsaved = false;
  section.hidden = false;
  const now = new Date(), two = (number) => String(number).padStart(2, "0");
  day.value = `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;

  const say = (words) => { state.textContent = words; };
  const line = (words) => words.replace(/\s+/g, " ").trim();
  const clock = (seconds) => {
    const tenths = Math.floor(seconds * 10), minutes = Math.floor(tenths / 600), rest = tenths % 600;
    const second = `${two(Math.floor(rest / 10))}.${rest % 10}`;
    return minutes < 60 ? `${minutes}:${second}` : `${Math.floor(minutes / 60)}:${two(minutes % 60)}:${second}`;
  };
  const choice = (track) => one(track, "input:checked").value;

  const relabel = (track) => {
    one(track, "ol").querySelectorAll("li").forEach((item, at) => {
      const of = `change ${at + 1} of track ${track.dataset.number}`;
      one(item, ".at").setAttribute("aria-label", `Time of ${of}, minutes and seconds; empty: throughout`);
      one(item, ".what").setAttribute("aria-label", `What to change: ${of}`);
      one(item, "[data-do=remove]").setAttribute("aria-label", `Remove ${of}`);
      one(item, "[data-do=time]").setAttribute("aria-label", `Take the time of ${of} from the player`);
    });
  };
  const add = (track) => {
    const item = template.content.firstElementChild.cloneNode(true);
    if (!one(track, "audio")) one(item, "[data-do=time]").remove();
    one(track, "ol").append(item);
    relabel(track);
    return item;
  };
  const show = (track) => {
    const wanted = choice(track) === "change";
    one(track, ".requests").hidden = !wanted;
    if (wanted && !one(track, "li")) add(track);
  };

  const requestsOf = (track) => choice(track) !== "change" ? [] : [...track.querySelectorAll("li")]
    .map((item) => ({ at: one(item, ".at").value.trim(), what: line(one(item, ".what").value), item }));
  const wrong = () => {
    for (const track of tracks) {
      const requests = requestsOf(track), of = `Track ${track.dataset.number}`;
      for (const { at, what, item } of requests) {
        if (!what) return [`${of}: please say what to change, or remove the change.`, one(item, ".what")];
        if (at && !TIME.test(at)) return [`${of}: please write the time like 1:23.4.`, one(item, ".at")];
      }
      if (choice(track) === "change" && !requests.length) return [`${of}: please add what to change.`, one(track, "[data-do=add]")];
    }
    if (!line(remark.value) && tracks.every((track) => !choice(track))) return ["Please answer at least one track.", one(section, "[data-do=all]")];
    if (!line(by.value)) return ["Please fill in your name.", by];
    if (!day.value) return ["Please fill in the date.", day];
    return null;
  };
  const answer = () => ({
    form: "delivery-approval/1",
    release: section.dataset.release,
    revision: Number(section.dataset.revision),
    by: line(by.value),
    date: day.value,
    label_copy: section.dataset.copy,
    remark: line(remark.value),
    tracks: tracks.map((track) => ({
      number: track.dataset.number,
      title: track.dataset.title,
      audio_hash: track.dataset.hash,
      approved: choice(track) === "ok",
      requests: requestsOf(track).map(({ at, what }) => ({ at, what })),
    })),
  });
  const asText = (made) => [
    `Answer to ${made.release}, revision ${made.revision}`,
    ...(made.by ? [`By: ${made.by}`] : []),
    `Date: ${made.date}`,
    "",
    ...made.tracks.flatMap(({ number, approved, requests }) => approved ? [`${number} ok`]
      : requests.filter(({ what }) => what).map(({ at, what }) => `${number}: ${at ? `at ${/:/.test(at) ? at : `0:${at.replace(/^\d(?!\d)/, "0$&")}`}, ` : ""}${what}`)),
    ...(made.remark ? [`all: ${made.remark}`] : []),
    "",
    `Audio: ${made.tracks.map(({ number, audio_hash }) => `${number} ${audio_hash.slice(0, 8)}`).join(", ")}`,
    `Label copy: ${made.label_copy}`,
  ].join("\n");
  const refresh = () => { text.value = asText(answer()); };

  const checked = () => {
    const fault = wrong();
    if (fault) { say(fault[0]); fault[1].focus(); }
    return !fault;
  };
  const save = () => {
    if (!checked()) return;
    const link = document.createElement("a");
    link.href = URL.createObjectURL(new Blob([JSON.stringify(answer(), null, 2) + "\n"], { type: "application/json" }));
    link.download = "delivery-answer.json";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    unsaved = false;
    say("Saved as delivery-answer.json in your downloads. Please send that file with a mail: nothing was sent from here.");
  };
  const copy = async () => {
    if (!checked()) return;
    refresh();
    let copied = true;
    try { await navigator.clipboard.writeText(text.value); }
    catch { text.focus(); text.select(); copied = document.execCommand("copy"); }
    unsaved = !copied;
    say(copied ? "Copied. Please paste it into a mail: nothing was sent from here." : "Please copy the text below by hand.");
  };

  section.addEventListener("click", (event) => {
    const button = event.target.closest("button"), track = event.target.closest("fieldset");
    const what = button && button.dataset.do, item = event.target.closest("li");
    if (what === "all") {
      tracks.forEach((each) => { one(each, "input[value=ok]").checked = true; show(each); });
      say(`All ${tracks.length} tracks are marked as approved. Please save or copy your answer.`);
    } else if (what === "add") one(add(track), ".at").focus();
    else if (what === "remove") { item.remove(); relabel(track); one(track, "[data-do=add]").focus(); }
    else if (what === "time") {
      one(item, ".at").value = clock(one(track, "audio").currentTime);
      one(item, ".what").focus();
    } else if (what === "save") save();
    else if (what === "copy") copy();
    if (what && what !== "save" && what !== "copy") { unsaved = true; refresh(); }
  });
  section.addEventListener("input", (event) => { if (event.target !== text) { unsaved = true; refresh(); } });
  section.addEventListener("change", (event) => { if (event.target.type === "radio") show(event.target.closest("fieldset")); refresh(); });
  section.addEventListener("play", (event) => {
    section.querySelectorAll("audio").forEach((audio) => { if (audio !== event.target) audio.pause(); });
  }, true);
  addEventListener("beforeunload", (event) => { if (unsaved) event.preventDefault(); });
  refresh();
})();
