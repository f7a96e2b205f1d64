// A spec is checked by the server after every field, as the file will be read; a fault stands below its field.
import { post, say } from "./desk.js";

const form = document.getElementById("draft"), apart = document.getElementById("apart");
const touched = new Set();
const values = () => Object.fromEntries(new FormData(form));
const fieldOf = (name) => document.getElementById(`f-${name}`);

const show = ({ faults, apart: rows }, everything) => {
  form.querySelectorAll(".refused").forEach((one) => one.remove());
  form.querySelectorAll("[aria-invalid]").forEach((one) => { one.removeAttribute("aria-invalid"); one.removeAttribute("aria-describedby"); });
  const shown = Object.entries(faults).filter(([name]) => everything || touched.has(name) || !fieldOf(name));
  for (const [name, why] of shown) {
    const field = fieldOf(name) || form.querySelector("button.strong");
    const told = document.createElement("span");
    told.className = "refused";
    told.id = `why-${name || "whole"}`;
    told.textContent = why;
    field.after(told);
    field.setAttribute("aria-invalid", "true");
    field.setAttribute("aria-describedby", told.id);
  }
  const list = document.createElement(rows.length ? "ul" : "p");
  list.className = rows.length ? "sentences" : "soft";
  if (!rows.length) list.textContent = Object.keys(faults).length ? "Not known while a field is empty or has a fault." : "Nothing yet.";
  for (const text of rows) list.append(Object.assign(document.createElement("li"), { textContent: text }));
  apart.replaceChildren(list);
  return shown;
};

let turn = 0;
const check = async () => {
  const mine = turn += 1;
  const told = await post("new-spec/check", values());
  if (told && mine === turn) show(told, false);
};
form.addEventListener("change", (event) => {
  const { name, dataset, value } = event.target;
  if (dataset.rule) {
    for (const input of event.target.closest("fieldset").querySelectorAll("input")) input.disabled = !value || value === "lifted";
    touched.add(dataset.rule);
  } else touched.add(name.replace(/^(limit|source):/, ""));
  check();
});
form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const told = await post("new-spec", values());
  if (!told || told.go) return;
  const [first] = show(told, true);
  const field = first && (fieldOf(first[0]) || form.querySelector("button.strong"));
  field?.closest("details")?.setAttribute("open", "");
  field?.focus();
  say("Not written: the reason stands below each field.");
});
