// A photo is kept here first, then sent, then dropped when the server has it. Sending the same photo twice is harmless:
// its address is the hash of its content.
import { drop, keep, lasting, waiting } from "./queue.js";
import { say, sayLost } from "./say.js";
import { sha256 } from "./sha256.js";

const list = document.getElementById("queue");
const page = document.body.dataset;
const SOONEST_MS = 1500;
const LATEST_MS = 20000;
let sending = false;
let more = false;
let pause = SOONEST_MS;
let timer = 0;

export async function give(blob, name, shows, title, run = page.run, line = page.line) {
  const hash = await sha256(blob);
  await keep({ id: `${run}/${line}/${hash}`, run, line, shows, name, title, hash, blob, at: Date.now() });
  await show();
  send();
}

// One at a time, oldest first, until none is left; one that cannot be sent now is tried again a little later.
export async function send() {
  if (sending) { more = true; return; }
  sending = true;
  clearTimeout(timer);
  do {
    more = false;
    for (const photo of await waiting()) {
      const outcome = await put(photo);
      if (outcome === "later") {
        timer = setTimeout(send, pause);
        pause = Math.min(pause * 1.7, LATEST_MS);
        more = false;
        break;
      }
      pause = SOONEST_MS;
      await drop(photo.id);
      await show();
    }
  } while (more);
  sending = false;
}

function put(photo) {
  const where = new URLSearchParams({ line: photo.line, shows: photo.shows, name: photo.name });
  return new Promise((done) => {
    const request = new XMLHttpRequest();
    request.open("PUT", `/api/v1/deliveries/${encodeURIComponent(photo.run)}/photos/${photo.hash}?${where}`);
    request.setRequestHeader("X-CSRF-Token", page.token);
    request.upload.onprogress = (event) => mark(photo, event.lengthComputable ? event.loaded / event.total : null);
    request.onload = () => done(outcomeOf(request, photo));
    request.onerror = () => { mark(photo, null, "waits for the connection; it is kept on this device"); done("later"); };
    request.ontimeout = request.onerror;
    request.timeout = 180000;
    request.send(photo.blob);
  });
}

function outcomeOf(request, photo) {
  if (request.status === 202 || request.status === 200) {
    if (photo.run === page.run && photo.line === page.line) say(`${photo.title}: got it.`);
    document.dispatchEvent(new CustomEvent("photo-sent"));
    return "done";
  }
  let says = "";
  try { says = JSON.parse(request.responseText).says; } catch { says = ""; }
  const code = codeOf(request);
  if (request.status >= 500 || code === "cut_short" || request.status === 429) {
    mark(photo, null, request.status === 503 ? "busy, is sent again" : "is sent again");
    return "later";
  }
  if (request.status === 401 || request.status === 403) {
    mark(photo, null, "waits: reload this page");
    return "later";
  }
  // Named as the device names it: of several photos added at once, which one?
  say(`${photo.title} (${photo.name}) was not taken: ${says || "the server refused it"}`, 20);
  return "refused";
}

function codeOf(request) {
  try { return JSON.parse(request.responseText).code; } catch { return ""; }
}

async function show() {
  const photos = await waiting();
  document.documentElement.dataset.waiting = String(photos.length);
  if (!list) return;
  list.hidden = photos.length === 0;
  list.replaceChildren(...photos.map(row));
}

function row(photo) {
  const item = document.createElement("li");
  item.dataset.id = photo.id;
  const text = document.createElement("span");
  const here = photo.run === page.run && photo.line === page.line;
  text.textContent = `${photo.title}${here ? "" : ` (line ${photo.line})`}: is on its way`;
  const bar = document.createElement("progress");
  bar.max = 1;
  bar.setAttribute("aria-label", `${photo.title}, sent`);
  item.append(text, bar);
  return item;
}

function mark(photo, share, why = "") {
  const item = list && [...list.children].find((each) => each.dataset.id === photo.id);
  if (why && !lasting) sayLost("This browser keeps nothing: leave this page open until the photos are sent.");
  if (!item) return;
  const bar = item.querySelector("progress");
  if (share === null) bar.removeAttribute("value");
  else bar.value = share;
  item.querySelector("span").textContent = why ? `${photo.title}: ${why}` : `${photo.title}: ${Math.round((share ?? 0) * 100)} % sent`;
}

async function take(field) {
  const form = field.closest("form[data-photo]");
  if (!form) return;
  const files = [...field.files];
  form.reset();
  for (const file of files) await give(file, file.name || "photo.jpg", form.dataset.photo, form.dataset.name);
}

// Each field is listened to itself: one that the page has put anew meanwhile still gives its photo.
const heard = new WeakSet();

function hear(part) {
  for (const field of part.querySelectorAll("form[data-photo] input[type=file]")) {
    if (heard.has(field)) continue;
    heard.add(field);
    field.addEventListener("change", () => take(field));
  }
}

hear(document);
document.addEventListener("put", (event) => hear(event.detail));

// Nothing is sent by the form itself while this script runs.
document.addEventListener("submit", (event) => {
  if (event.target instanceof HTMLFormElement && event.target.matches("form[data-photo]")) event.preventDefault();
});

window.addEventListener("online", () => { pause = SOONEST_MS; send(); });
document.addEventListener("connected-again", () => { pause = SOONEST_MS; send(); });

await show();
send();
// A photo chosen before this script was there is not lost either.
for (const field of document.querySelectorAll("form[data-photo] input[type=file]")) if (field.files.length) take(field);
