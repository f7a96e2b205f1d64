// The chosen specs, in the order in which they stand on the page.
import { post } from "./desk.js";

document.querySelector("form.specs").addEventListener("submit", async (event) => {
  event.preventDefault();
  const specs = [...event.target.querySelectorAll("input:checked")].map((input) => input.name);
  const release = document.body.dataset.release;
  if (await post(`${release}/specs`, { specs })) location.assign(new URL(release, document.baseURI));
});
