// A file dropped where nothing takes it would be opened in place of the page.
addEventListener("dragover", (event) => {
  if (event.defaultPrevented || !event.dataTransfer.types.includes("Files")) return;
  event.preventDefault();
  event.dataTransfer.dropEffect = "none";
});
// While the page's modules are still on their way, what is pressed, chosen or sent is kept; they get it when they have run.
(() => {
  const own = { click: "button[type=button]", change: "input[type=file]", submit: "form:not([action])" };
  const kept = [];
  const keep = (event) => {
    const target = event.target.closest(own[event.type]);
    if (!target) return;
    event.stopImmediatePropagation(); // a module that has run already would do it now, and again below
    if (event.type === "submit") event.preventDefault();
    if (!kept.some((one) => one.kind === event.type && one.target === target)) kept.push({ kind: event.type, target });
  };
  for (const kind of Object.keys(own)) document.addEventListener(kind, keep, true);
  document.addEventListener("DOMContentLoaded", () => { // every module has run before
    for (const kind of Object.keys(own)) document.removeEventListener(kind, keep, true);
    for (const { kind, target } of kept) {
      if (kind === "click") target.click();
      else if (kind === "submit") target.requestSubmit();
      else target.dispatchEvent(new Event(kind, { bubbles: true }));
    }
  });
})();
