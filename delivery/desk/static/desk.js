// Every page: what is posted, and what is shown of the answer. The token is sent with each post and stored nowhere else.
const token = document.querySelector('meta[name="desk-token"]').content;
const status = document.getElementById("status");

export const say = (text) => { status.textContent = text; };
export const digest = () => document.body.dataset.digest || "";

// A page fetched before a post was answered is older than what the post changed.
export const posts = { begun: 0, waiting: 0 };

// Posts go one after another: each states the text of the release file that it changes, and that comes with the answer to the one before.
// Otherwise a button pressed with a cell still open would be refused, or undo what was typed before.
//
// `send` alone is for what takes long and changes nothing that the page shows: a page is not put anew while a post is under way.
// `signal` of an AbortController ends it; it then answers null and says nothing.
let queue = Promise.resolve();
export const post = (...what) => {
  posts.begun += 1;
  posts.waiting += 1;
  const answer = queue.then(() => send(...what)).finally(() => { posts.waiting -= 1; });
  queue = answer.catch(() => {});
  return answer;
};
export const send = async (path, data, headers = {}, signal = undefined) => {
  const raw = data instanceof Blob;
  let answer;
  try {
    answer = await fetch(path, {
      method: "POST",
      headers: { "X-Desk-Token": token, ...(raw ? { "X-Digest": digest() } : { "Content-Type": "application/json" }), ...headers },
      body: raw ? data : JSON.stringify({ digest: digest(), ...data }),
      signal,
    });
  } catch {
    if (signal?.aborted) return null;
    say("The desk does not answer: it was closed. Start it again with 'delivery desk'.");
    return null;
  }
  const told = await answer.json().catch(() => ({ message: "The desk gave no answer that can be read." }));
  if (!answer.ok) {
    say(told.message || "Refused.");
    return null;
  }
  if (told.digest) document.body.dataset.digest = told.digest;
  say(told.said || "");
  if (told.go) location.assign(new URL(told.go, document.baseURI));
  return told;
};

// Buttons and forms that post and then show the page again.
const followed = new Set();
export const afterwards = (done) => followed.add(done);
const finish = (told, form) => { if (told && !told.go) followed.forEach((done) => done(told, form)); };

document.addEventListener("click", async (event) => {
  const button = event.target.closest("button[data-post]");
  if (button) {
    button.disabled = true;
    const told = await post(button.dataset.post, button.dataset.path ? { path: button.dataset.path } : {});
    if (button.dataset.then === "closed" && told) {
      document.querySelector("main").innerHTML = "<h1>Closed</h1><p>The desk is closed. Start it again with <code>delivery desk</code>.</p>";
      document.querySelector("header.bar").remove();
      document.getElementById("player")?.remove();
      return;
    }
    button.disabled = false;
    finish(told);
  }
  const copying = event.target.closest("button[data-copy]");
  if (copying) {
    await navigator.clipboard.writeText(document.getElementById(copying.dataset.copy).textContent);
    say("Copied.");
  }
});
document.addEventListener("submit", async (event) => {
  const form = event.target.closest("form[data-form]");
  if (!form) return;
  event.preventDefault();
  const data = Object.fromEntries(new FormData(form));
  if (data.by) localStorage.setItem("by", data.by);
  if (form.dataset.rules) data.rules = form.dataset.rules.split(" ");
  finish(await post(form.dataset.form, data), form);
});
